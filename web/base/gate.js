// One family of shapes: the film gate, open, shut, half full, passed through. A mood is known by its shape alone.

import { html, only } from "./html.js";

/** @typedef {import("../state/situation.js").Mood} Mood */

/** @type {Record<Mood, () => DocumentFragment>} What stands in the gate. */
const INSIDE = {
  ready: () => html`<svg><path d="M40 20v24M28 32h24" /></svg>`,
  armed: () => html`<svg><path d="M20 32q20 -22 40 0q-20 22 -40 0z" /><circle cx="40" cy="32" r="4" class="full" /></svg>`,
  right: () => html`<svg><path d="M20 26h26M20 38h26" /><path d="M46 18l14 14l-14 14" /></svg>`,
  left: () => html`<svg><path d="M60 26h-26M60 38h-26" /><path d="M34 18l-14 14l14 14" /></svg>`,
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
