// The shutter: the time of the next exposure, what changed it, and what was found on each take of the frame.

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
    const next = state.next_shutter_s;
    const last = takes.at(-1);
    return this.fill(html`
      <h2>Shutter</h2>
      <p class="big">${next ? shutterWords(next) : last ? shutterWords(last.want.shutter_s) : "not known yet"}</p>
      <p class="dim">${nextLine(next, last)}</p>
      <ol class="takes" aria-label="Takes of this frame">${takes.map((t, i) => row(t, takes[i - 1], frame?.keeper ?? []))}</ol>
      ${last?.verdict ? html`<p class="finding">${last.why || last.verdict.why}</p>` : null}`);
  }
}

/** @param {number | null} next @param {Take | undefined} last */
function nextLine(next, last) {
  if (!next) return last ? "of the last take" : "The first take finds it.";
  if (!last) return "for the next take";
  const change = changeWords(last.want.shutter_s, next);
  return change === "unchanged" ? "for the next take, unchanged" : `for the next take, ${change} than ${shutterWords(last.want.shutter_s)}`;
}

/** @param {Take} take @param {Take | undefined} before @param {string[]} keeper */
function row(take, before, keeper) {
  const kept = keeper.includes(take.take_id);
  const change = before ? changeWords(before.want.shutter_s, take.want.shutter_s) : "";
  const found = verdictWords(take);
  return html`<li class=${kept ? "kept" : ""}>
    <span class="number">Take ${take.number}</span> <span class="time">${shutterWords(take.want.shutter_s)}</span>
    <span class="words">${found || "in hand"}${found ? `, ${outcomeWords(take, kept)}` : ""}${change && change !== "unchanged" ? html`<span class="dim"> (${change})</span>` : ""}</span>
  </li>`;
}
