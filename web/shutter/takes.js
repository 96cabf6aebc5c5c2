// The takes of the frame in hand, where there are several: what each was worth, and why it was taken again.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { frameInHand, takesOf } from "../state/frames.js";
import { shutterWords } from "../state/words.js";
import { found, whyOf } from "./found.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").Take} Take */

export class Takes extends Part {
  /** @param {View} view */
  draw(view) {
    const frame = frameInHand(view);
    const takes = view.state && frame ? takesOf(view.state, frame) : [];
    if (!frame || takes.length < 2) return this.replaceChildren();
    return this.fill(html`<h3>Its takes</h3><ol>${takes.map((take) => row(take, frame.keeper))}</ol>`);
  }
}

/** @param {Take} take @param {string[]} keeper */
function row(take, keeper) {
  return html`<li class=${keeper.includes(take.take_id) ? "kept" : ""}>
    <span class="number">Take ${take.number}</span><span class="time">${shutterWords(take.want.shutter_s)}</span>
    <span>${found(take, keeper)}</span>${take.decision === "retake" && html`<p class="dim">${whyOf(take)}</p>`}</li>`;
}
