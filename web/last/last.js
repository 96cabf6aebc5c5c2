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
    const name = takeId && view.state ? frameWords(view.state, takeOf(view.state, takeId)?.frame_id ?? null) : "";
    const strip = takeId && view.state ? stripOfTake(view.state, takeId) : null;
    const reading = wayOf(strip, screenPrefs.now);
    const lying = wayOf(strip, { ...screenPrefs.now, reads: false });
    if (view.spot !== "whole" && takeId) return this.#piece(takeId, name, view.spot, reading);
    const lies = view.chosen ? "As it lies" : "Last take, as it lies";
    return this.fill(html`<div class="pair" aria-label="Last take">
      ${whole(takeId, "negative", lies, name, lying)}${whole(takeId, "positive", "Positive", name, reading)}
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

/** @param {string | null} takeId @param {string} tone @param {string} caption @param {string} name
 * @param {import("../base/orient.js").Way} way */
function whole(takeId, tone, caption, name, way) {
  const source = `/api/takes/${encodeURIComponent(takeId ?? "")}/picture?tone=${tone}`;
  return html`<figure class="picture"><figcaption><h3>${caption}</h3></figcaption>
    ${takeId ? shown(source, `${caption}: ${name}`, way) : html`<p class="empty">Nothing taken yet</p>`}
  </figure>`;
}
