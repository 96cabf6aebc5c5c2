// What was found on the last take, in words, and the shutter: the time of the next exposure, and what changed it.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { command } from "../net/command.js";
import { currentRoll } from "../state/copies.js";
import { frameInHand, takesOf } from "../state/frames.js";
import { handsFree, mayWork } from "../state/people.js";
import { changeWords, shutterWords, verdictWords } from "../state/words.js";
import { found, whyOf } from "./found.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").State} State */
/** @typedef {import("../state/types.js").Take} Take */

export class Shutter extends Part {
  /** @param {View} view */
  draw(view) {
    const state = view.state;
    const frame = frameInHand(view);
    if (!state) return this.replaceChildren();
    const takes = frame ? takesOf(state, frame) : [];
    const told = takes.filter((take) => verdictWords(take)).at(-1);
    const inHand = takes.at(-1) === told ? null : takes.at(-1);
    const keeper = frame?.keeper ?? [];
    const words = told ? found(told, keeper) : inHand ? "in hand" : "nothing yet";
    return this.fill(html`<div class="two-up">
        <div><h3>Found</h3><p class="big">${words}</p></div>
        <div><h3>Shutter</h3>${(!inHand && heldOf(state)) || shutter(inHand ? null : state.next_shutter_s, takes.at(-1), inHand)}</div>
      </div><p class="dim why">${told ? whyOf(told) : ""} ${firstWords(takes)}</p>
      ${offered(takes, keeper) && mayWork(view) ? secondTake(frame?.frame.frame_id ?? "", !handsFree(view)) : null}`);
  }
}

/** The shutter that is held for the roll, with where its base sits; null where each frame has its own.
 * @param {State} state */
function heldOf(state) {
  const roll = currentRoll(state);
  const aim = roll?.roll.exposing?.aim ?? state.job?.exposing?.aim ?? "base";
  if (!roll?.held || aim !== "base") return null;
  const { shutter_s, base_1s, how, bound } = roll.held;
  const sits = base_1s.map((level, i) => `${"RGB"[i]} ${(level + Math.log2(shutter_s)).toFixed(1)}`).join(", ");
  const from = how === "rebate" ? "the rebate" : "clear film";
  return time(shutterWords(shutter_s), `held for the roll. Base from ${from}: ${sits} stops. ${bound}`);
}

/** What the first shutter of a frame was foretold by; the order is that of rigd/imaging/forecast.py. */
const SOURCES = ["the setting", "the frames before", "the base beside the picture", "live view"];

/** @param {Take[]} takes */
function firstWords(takes) {
  const by = takes[0]?.verdict?.numbers.foretold_by;
  return by === undefined ? "" : `First shutter from ${SOURCES[by]}.`;
}

/** Whether a second, longer take would hold what the first one could not. @param {Take[]} takes @param {string[]} keeper */
function offered(takes, keeper) {
  const kept = takes.find((take) => take.take_id === keeper[0]);
  return keeper.length === 1 && kept?.verdict?.take === "exceeds";
}

/** @param {string} frame @param {boolean} off */
function secondTake(frame, off) {
  const take = () => command("/api/bracket", { frame });
  return html`<button data-key="bracket" disabled=${off} on-click=${take}>Second take, longer</button>`;
}

/** @param {number | null} next @param {Take | undefined} last @param {Take | null | undefined} inHand */
function shutter(next, last, inHand) {
  if (inHand) return time(shutterWords(inHand.want.shutter_s), `of take ${inHand.number}, in hand`);
  if (next) return time(shutterWords(next), last ? nextWords(next, last) : "next");
  return last ? time(shutterWords(last.want.shutter_s), "of this take") : time("not set", "the first take finds it");
}

/** @param {string} words @param {string} note */
function time(words, note) {
  return html`<p class="big">${words}</p><p class="dim">${note}</p>`;
}

/** @param {number} next @param {Take} last */
function nextWords(next, last) {
  const change = changeWords(last.want.shutter_s, next);
  return change === "unchanged" ? "next, unchanged" : `next, ${change} than ${shutterWords(last.want.shutter_s)}`;
}
