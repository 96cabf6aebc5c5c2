// A card of the bench: a heading and what belongs to it.

import { html } from "../base/html.js";

/** @param {string} title @param {import("../base/html.js").Slot} inside */
export function card(title, inside) {
  return html`<section class="card"><h2>${title}</h2>${inside}</section>`;
}
