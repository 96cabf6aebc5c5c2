// The sleeve of the roll in hand.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { currentRoll } from "../state/copies.js";
import { nextPlace } from "../state/situation.js";
import { store } from "../state/store.js";
import { sleeve } from "./drawn.js";

/** @typedef {import("../state/store.js").View} View */

export class Sleeve extends Part {
  /** @param {View} view */
  regard(view) {
    const roll = view.state && currentRoll(view.state);
    return [roll?.roll, roll?.strips, roll?.frames, view.chosen, nextPlace(view)];
  }

  /** @param {View} view */
  draw(view) {
    const roll = view.state && currentRoll(view.state);
    if (!roll) return this.replaceChildren();
    const choose = (/** @type {string | null} */ frame) => store.choose(frame);
    return this.fill(html`<h3>Sleeve</h3>${sleeve(roll, { next: nextPlace(view), chosen: view.chosen, choose })}`);
  }
}
