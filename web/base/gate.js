// One family of shapes: the film gate, open, shut, half full, passed through. A mood is known by its shape alone.

import { html, only } from "./html.js";

/** @typedef {import("../state/situation.js").Mood} Mood */

/** @type {Record<Mood, () => DocumentFragment>} What stands in the gate. */
const INSIDE = {
  ready: () => html`<svg><path d="M40 20v24M28 32h24" /></svg>`,
  still: () => html`<svg><rect x="17" y="19" width="46" height="26" rx="2" class="full" /></svg>`,
  wait: () => html`<svg><rect x="17" y="32" width="46" height="13" rx="2" class="full" /></svg>`,
  move: () => html`<svg><path d="M22 32h34M46 22l12 10l-12 10" /></svg>`,
  call: () => html`<svg><path d="M40 19v15M40 41v4" /></svg>`,
  rest: () => html`<svg><path d="M30 32h20" /></svg>`,
  away: () => html`<svg><path d="M26 20l28 24M54 20l-28 24" /></svg>`,
};

/**
 * The shape of a mood; hidden from readers, as the word stands beside it.
 * @param {Mood} mood
 * @returns {Node}
 */
export function gate(mood) {
  const shape = only(html`<svg class="gate" viewBox="0 0 80 64" aria-hidden="true" focusable="false">
    <rect x="8" y="10" width="64" height="44" rx="6" /></svg>`);
  const inside = only(INSIDE[mood]());
  shape.append(...inside.childNodes);
  return shape;
}
