// The roll in hand: its name, how much of it is accounted for, and the counts.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { openForm } from "../forms/open.js";
import { currentRoll } from "../state/copies.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").Roll} Roll */
/** @typedef {import("../state/types.js").Tally} Tally */

export class RollHead extends Part {
  /** @param {View} view */
  regard(view) {
    const roll = view.state && currentRoll(view.state);
    return [view.state?.job, roll?.roll, roll?.closed, view.tally, view.link];
  }

  /** @param {View} view */
  draw(view) {
    const roll = (view.state && currentRoll(view.state)?.roll) ?? null;
    this.fill(html`
      <div class="head">
        <div><h2>${view.state?.job?.title ?? "No job yet"}</h2>
        <p class="label">${roll ? roll.label : "No roll open"}</p>
        ${roll ? html`<p class="dim">${filmWords(roll)}</p>` : null}</div>
        ${button(view, roll)}
      </div>
      ${view.tally && roll ? html`${sum(view.tally)}${counts(view.tally)}` : null}`);
  }
}

/** @param {View} view @param {Roll | null} roll */
function button(view, roll) {
  const words = view.state && !view.state.job ? "Begin" : "Rolls";
  const open = () => openForm("rolls");
  return html`<button data-key="rolls" class=${roll ? "" : "main"} disabled=${view.link !== "on"}
    on-click=${open}>${words}</button>`;
}

/** @param {Roll} roll */
function filmWords({ film_format, colour, tone, where }) {
  return [film_format, `${colour} ${tone}`, where].filter(Boolean).join(", ");
}

/** How many frames are accounted for, and what is not. @param {Tally} t */
function sum(t) {
  const known = t.expected !== null;
  const left = t.missing ? `${t.missing} ${known ? "still missing" : "to settle"}` : "";
  const rest = left || (known ? "none missing" : "how many it has is not known");
  return html`<p class="sum"><span class="done">${t.pictures + t.unexposed + t.fogged}</span>
    <span class="of">${known ? `of ${t.expected} frames` : "frames"}</span> <span class="dim">${rest}</span></p>`;
}

/** Pictures and unexposed always, the rest where there is any. @param {Tally} t */
function counts(t) {
  /** @type {[string, number, boolean][]} */
  const all = [
    ["pictures", t.pictures, true], ["unexposed", t.unexposed, true], ["fogged", t.fogged, false],
    ["passed over", t.skipped, false], ["unsettled", t.open, false], ["retaken", t.retaken, false],
    ["doubtful", t.suspect, false],
  ];
  const shown = all.filter(([, n, always]) => n || always);
  return html`<dl>${shown.map(([name, n]) => html`<div><dt>${name}</dt><dd>${n}</dd></div>`)}</dl>`;
}
