// The last take of a picture: as it lies on the light table, and as a positive.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { takeOf } from "../state/copies.js";
import { frameWords, lastTakeId } from "../state/frames.js";

/** @typedef {import("../state/store.js").View} View */

export class Last extends Part {
  /** @param {View} view */
  regard(view) {
    return [this.#takeId(view), view.chosen];
  }

  /** @param {View} view */
  draw(view) {
    const takeId = this.#takeId(view);
    const name = takeId && view.state ? frameWords(view.state, takeOf(view.state, takeId)?.frame_id ?? null) : "";
    const lies = view.chosen ? "As it lies" : "Last take, as it lies";
    this.fill(html`<div class="pair" aria-label="Last take">
      ${picture(takeId, "negative", lies, name)}${picture(takeId, "positive", "Positive", name)}
    </div>`);
  }

  /** @param {View} view */
  #takeId(view) {
    return view.state && view.link !== "shut" ? lastTakeId(view) : null;
  }
}

/** @param {string | null} takeId @param {string} tone @param {string} caption @param {string} name */
function picture(takeId, tone, caption, name) {
  const empty = () => html`<p class="empty">Nothing taken yet</p>`;
  const source = `/api/takes/${encodeURIComponent(takeId ?? "")}/picture?tone=${tone}`;
  const failed = (/** @type {Event} */ event) =>
    /** @type {Element} */ (event.target).replaceWith(html`<p class="empty">This file gives no picture</p>`);
  return html`<figure class="picture">
    <figcaption><h2>${caption}</h2></figcaption>
    ${takeId ? html`<img src=${source} alt=${`${caption}: ${name}`} on-error=${failed}>` : empty()}
  </figure>`;
}
