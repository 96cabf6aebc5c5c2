// What was found on the last take, in words, and the shutter: the time of the next exposure, and what changed it.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { frameInHand, takesOf } from "../state/frames.js";
import { changeWords, outcomeWords, shutterWords, verdictWords } from "../state/words.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").Take} Take */

export class Shutter extends Part {
  /** @param {View} view */
  draw(view) {
    const state = view.state;
    const frame = frameInHand(view);
    if (!state) return this.replaceChildren();
    const takes = frame ? takesOf(state, frame) : [];
    const last = takes.at(-1);
    const keeper = frame?.keeper ?? [];
    return this.fill(html`<div class="two-up">
        <div><h2>Found</h2><p class="big">${last ? found(last, keeper) : "nothing yet"}</p><p class="dim">${last?.why || last?.verdict?.why || last?.lost_why || ""}</p></div>
        <div><h2>Shutter</h2>${shutter(state.next_shutter_s, last)}</div>
      </div>
      ${takes.length > 1 ? html`<ol class="takes" aria-label="Takes of this frame">${takes.map((t, i) => row(t, takes[i - 1], keeper))}</ol>` : null}`);
  }
}

/** @param {number | null} next @param {Take | undefined} last */
function shutter(next, last) {
  if (!next) return html`<p class="big">${last ? shutterWords(last.want.shutter_s) : "not set"}</p><p class="dim">${last ? "of this take" : "the first take finds it"}</p>`;
  const change = last ? changeWords(last.want.shutter_s, next) : "";
  const words = change && change !== "unchanged" ? `next, ${change} than ${shutterWords(/** @type {Take} */ (last).want.shutter_s)}` : "next, unchanged";
  return html`<p class="big">${shutterWords(next)}</p><p class="dim">${words}</p>`;
}

/** @param {Take} take @param {string[]} keeper */
function found(take, keeper) {
  if (!verdictWords(take)) return "in hand";
  return [verdictWords(take), outcomeWords(take, keeper.includes(take.take_id))].filter(Boolean).join(", ");
}

/** @param {Take} take @param {Take | undefined} before @param {string[]} keeper */
function row(take, before, keeper) {
  const change = before ? changeWords(before.want.shutter_s, take.want.shutter_s) : "";
  return html`<li class=${keeper.includes(take.take_id) ? "kept" : ""}>
    <span class="number">Take ${take.number}</span><span class="time">${shutterWords(take.want.shutter_s)}</span>
    <span>${found(take, keeper)}${change && change !== "unchanged" ? html` <span class="dim">${change}</span>` : ""}</span>
  </li>`;
}
