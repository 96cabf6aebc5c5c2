// The roll in hand: its name, how much of it is accounted for, and the counts.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { openForm } from "../forms/open.js";
import { currentRoll } from "../state/copies.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").Tally} Tally */

export class RollHead extends Part {
  /** @param {View} view */
  regard(view) {
    const roll = view.state && currentRoll(view.state);
    return [view.state?.job, roll?.roll, roll?.closed, view.tally, view.link];
  }

  /** @param {View} view */
  draw(view) {
    const roll = view.state && currentRoll(view.state);
    this.fill(html`
      <div class="head">
        <div><h2>${view.state?.job?.title ?? "No job yet"}</h2>
        <p class="label">${roll ? roll.roll.label : "No roll open"}</p>
        ${roll ? html`<p class="dim">${roll.roll.film_format}, ${roll.roll.colour} ${roll.roll.tone}${roll.roll.where ? `, ${roll.roll.where}` : ""}</p>` : null}</div>
        <button data-key="rolls" class=${roll ? "" : "main"} disabled=${view.link !== "on"} on-click=${() => openForm("rolls")}>${view.state && !view.state.job ? "Begin" : "Rolls"}</button>
      </div>
      ${view.tally && roll ? counts(view.tally) : null}`);
  }
}

/** @param {Tally} t */
function counts(t) {
  const done = t.pictures + t.unexposed + t.fogged;
  const of = t.expected === null ? "frames" : `of ${t.expected} frames`;
  const rest = t.missing ? `${t.missing} ${t.expected === null ? "to settle" : "still missing"}` : t.expected === null ? "how many it has is not known" : "none missing";
  return html`<p class="sum"><span class="done">${done}</span> <span class="of">${of}</span> <span class="rest dim">${rest}</span></p>
  <dl>${[
    ["pictures", t.pictures], ["unexposed", t.unexposed], ["fogged", t.fogged], ["passed over", t.skipped],
    ["unsettled", t.open], ["retaken", t.retaken], ["doubtful", t.suspect],
  ].filter(([name, n]) => n || name === "pictures" || name === "unexposed").map(([name, n]) => html`<div><dt>${name}</dt><dd>${n}</dd></div>`)}</dl>`;
}
