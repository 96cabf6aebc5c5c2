// Looking closely: the middle or a corner, one pixel for one, in the live picture and in the last take.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */

/** @type {[View["spot"], string, [number, number] | null][]} */
const SPOTS = [
  ["whole", "The whole picture", null], ["middle", "The middle, at 100 %", [30, 20]],
  ["top-left", "Top left, at 100 %", [14, 11]], ["top-right", "Top right, at 100 %", [46, 11]],
  ["bottom-left", "Bottom left, at 100 %", [14, 29]], ["bottom-right", "Bottom right, at 100 %", [46, 29]],
];

export class Closer extends Part {
  /** @param {View} view */
  regard(view) {
    return [view.spot];
  }

  /** @param {View} view */
  draw(view) {
    this.fill(html`<div role="group" aria-label="Look closely">${SPOTS.map(([spot, words, at]) => html`
      <button data-key=${spot} aria-pressed=${String(view.spot === spot)} aria-label=${words} title=${words}
        on-click=${() => store.closer(spot)}>${mark(at)}</button>`)}</div>`);
  }
}

/** A frame with a dot where it is looked at; without one, the frame is filled. @param {[number, number] | null} at */
function mark(at) {
  const inside = at
    ? html`<svg><circle cx=${at[0]} cy=${at[1]} r="5" class="full" /></svg>`
    : html`<svg><rect x="8" y="7" width="44" height="26" rx="1" class="full" /></svg>`;
  const made = html`<svg viewBox="0 0 60 40" aria-hidden="true"><rect x="3" y="3" width="54" height="34" rx="3" /></svg>`;
  made.firstElementChild?.append(.../** @type {Element} */ (inside.firstElementChild).childNodes);
  return made;
}
