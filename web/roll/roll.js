// The roll in hand: its name, how much of it is accounted for, the counts, and how long the rest will take.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { currentRoll } from "../state/copies.js";
import { cadenceWords } from "../state/pace.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").Roll} Roll */
/** @typedef {import("../state/types.js").Tally} Tally */

export class RollHead extends Part {
  /** @param {View} view */
  regard(view) {
    const roll = view.state && currentRoll(view.state);
    return [view.state !== null, view.state?.job, roll?.roll, roll?.closed, view.tally, roll?.worked_s, roll?.paced];
  }

  /** @param {View} view */
  draw(view) {
    const state = view.state && currentRoll(view.state);
    const roll = state?.roll ?? null;
    this.fill(html`
      <div class="head">
        <div><h3>${view.state?.job?.title ?? "No job yet"}</h3>
        <p class="label">${roll ? roll.label : "No roll open"}</p>
        ${roll ? html`<p class="dim">${filmWords(roll)}</p>` : null}</div>
        ${roll ? null : html`<a class="button" href="#rolls">${view.state && !view.state.job ? "Begin" : "To the rolls"}</a>`}
      </div>
      ${view.tally && state ? html`${sum(view.tally)}${counts(view.tally)}${pace(state, view.tally)}` : null}`);
  }
}

/** @param {Roll} roll */
export function filmWords({ film_format, colour, tone, where }) {
  return [film_format, `${colour} ${tone}`, where].filter(Boolean).join(", ");
}

/** How many frames are accounted for, and what is not. @param {Tally} t */
export function sum(t) {
  const known = t.expected !== null;
  const left = t.missing ? `${t.missing} ${known ? "still missing" : "to settle"}` : "";
  const rest = left || (known ? "none missing" : "how many it has is not known");
  return html`<p class="sum"><span class="done">${t.pictures + t.unexposed + t.fogged}</span>
    <span class="of">${known ? `of ${t.expected} frames` : "frames"}</span> <span class="dim">${rest}</span></p>`;
}

/** Pictures and unexposed always, the rest where there is any. @param {Tally} t */
export function counts(t) {
  /** @type {[string, number, boolean][]} */
  const all = [
    ["pictures", t.pictures, true], ["unexposed", t.unexposed, true], ["fogged", t.fogged, false],
    ["passed over", t.skipped, false], ["unsettled", t.open, false], ["retaken", t.retaken, false],
    ["doubtful", t.suspect, false], ["to take again", t.again, false],
  ];
  const shown = all.filter(([, n, always]) => n || always);
  return html`<dl>${shown.map(([name, n]) => html`<div><dt>${name}</dt><dd>${n}</dd></div>`)}</dl>`;
}

/** @param {import("../state/types.js").RollState} roll @param {Tally} tally */
function pace(roll, tally) {
  const words = cadenceWords(roll, tally);
  return words && html`<p class="pace">${words}</p>`;
}
