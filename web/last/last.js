// The last take of a picture: as it lies on the light table, and as a positive; or a piece of it at full size.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { screenPrefs } from "../base/prefs.js";
import { sensorSpot, wayOf } from "../base/orient.js";
import { takeOf } from "../state/copies.js";
import { frameWords, lastTakeId, stripOfTake } from "../state/frames.js";
import { store } from "../state/store.js";
import { shown } from "./shown.js";

/** @typedef {import("../state/store.js").View} View */

export class Last extends Part {
  /** @type {(() => void) | null} */
  #leave = null;

  begin() {
    this.#leave = screenPrefs.subscribe(() => this.draw(store.view));
  }

  disconnectedCallback() {
    super.disconnectedCallback();
    this.#leave?.();
  }

  /** @param {View} view */
  regard(view) {
    return [this.#takeId(view), view.chosen, view.spot];
  }

  /** @param {View} view */
  draw(view) {
    if (screenPrefs.now.pictures === "hidden") return this.replaceChildren();
    const takeId = this.#takeId(view);
    const take = takeId && view.state ? takeOf(view.state, takeId) : null;
    const name = take && view.state ? frameWords(view.state, take.frame_id) : "";
    const strip = takeId && view.state ? stripOfTake(view.state, takeId) : null;
    const reading = wayOf(strip, screenPrefs.now);
    const lying = wayOf(strip, { ...screenPrefs.now, reads: false });
    if (view.spot !== "whole" && takeId) return this.#piece(takeId, name, view.spot, reading);
    const lies = view.chosen ? "Its take" : "Last take";
    const corners = take?.verdict?.corners ?? [];
    const edges = take?.verdict ? (corners.length ? "frame found" : "no frame found") : "";
    return this.fill(html`<div class="pair" aria-label="Last take">
      ${whole(takeId, "negative", lies, { name, edges, corners, way: lying })}
      ${whole(takeId, "positive", "As a positive", { name, edges: "", corners: [], way: reading })}
    </div>`);
  }

  /** @param {string} takeId @param {string} name @param {import("../base/orient.js").Spot} spot
   * @param {import("../base/orient.js").Way} way */
  #piece(takeId, name, spot, way) {
    const words = spot.replace("-", " ");
    const source = `/api/takes/${encodeURIComponent(takeId)}/detail/${sensorSpot(spot, way)}`;
    this.fill(html`<figure class="picture piece"><figcaption><h3>Last take, ${words}, pixel by pixel</h3></figcaption>
      ${shown(source, `Last take, ${words}, pixel by pixel: ${name}`, way)}</figure>`);
  }

  /** @param {View} view */
  #takeId(view) {
    return view.state && view.link !== "shut" ? lastTakeId(view) : null;
  }
}

/**
 * @typedef {object} Shown
 * @property {string} name of the frame
 * @property {string} edges whether its edges were found, in words
 * @property {[number, number][]} corners to be outlined
 * @property {import("../base/orient.js").Way} way
 */

/** @param {string | null} takeId @param {string} tone @param {string} caption @param {Shown} look */
function whole(takeId, tone, caption, { name, edges, corners, way }) {
  const source = `/api/takes/${encodeURIComponent(takeId ?? "")}/picture?tone=${tone}`;
  const words = [`${caption}: ${name}`, edges].filter(Boolean).join(", ");
  return html`<figure class="picture"><figcaption><h3>${caption}${edges && html`<span>, ${edges}</span>`}</h3></figcaption>
    ${takeId ? shown(source, words, way, corners) : html`<p class="empty">Nothing taken yet</p>`}
  </figure>`;
}
