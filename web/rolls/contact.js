// The contact sheet of a roll: its positives by strip, each with its number, its edge mark and what is said of it.

import { html } from "../base/html.js";
import { wayOf } from "../base/orient.js";
import { screenPrefs } from "../base/prefs.js";
import { kindOf } from "../state/tally.js";
import { SORTS, isOf, rowsOf, saidOf, shownTake } from "./kinds.js";
import { small } from "./small.js";

/** @typedef {import("../state/types.js").RollState} RollState */
/** @typedef {import("../state/types.js").Strip} Strip */
/** @typedef {import("./kinds.js").Spot} Spot */
/** @typedef {import("./kinds.js").Sort} Sort */
/**
 * @typedef {object} Looking
 * @property {Sort} sort
 * @property {(sort: Sort) => void} show
 * @property {string | null} frame the one that is looked at
 * @property {(frame: string | null) => void} choose
 */

/** @param {RollState} roll @param {Looking} looking */
export function contact(roll, looking) {
  const rows = rowsOf(roll);
  const kept = rows.map((row) => ({ ...row, spots: row.spots.filter((spot) => isOf(roll, spot, looking.sort)) }))
    .filter((row) => row.spots.length);
  return html`<div class="contact">${sorts(roll, rows.flatMap((row) => row.spots), looking)}
    <ol class="bands">${kept.map((row) => html`<li><h3>Strip ${row.strip.number}${row.strip.sleeve ? `, ${row.strip.sleeve}` : ""}</h3>
      <ol class="band">${row.spots.map((spot) => cell(roll, row.strip, spot, looking))}</ol></li>`)}</ol>
    ${kept.length ? null : html`<p class="dim">${rows.length ? "No frame is like that." : "Nothing of it was taken yet."}</p>`}</div>`;
}

/** @param {RollState} roll @param {Spot[]} spots @param {Looking} looking */
function sorts(roll, spots, { sort, show }) {
  const counted = SORTS.map(([name, words]) => ({ name, words, n: spots.filter((spot) => isOf(roll, spot, name)).length }));
  const shown = counted.filter(({ name, n }) => n || name === "all" || name === sort);
  return html`<div class="row" role="group" aria-label="Frames to show">${shown.map(({ name, words, n }) => html`<button
    data-key=${`sort-${name}`} aria-pressed=${String(name === sort)} on-click=${() => show(name)}>${words} ${n}</button>`)}</div>`;
}

/** @param {RollState} roll @param {Strip} strip @param {Spot} spot @param {Looking} looking */
function cell(roll, strip, { number, frame, place }, { frame: chosen, choose }) {
  const said = saidOf(roll, frame).join(", ");
  if (!frame) return html`<li><div class="shot gap"><span class="blank">${place}</span><p>${said}</p></div></li>`;
  const id = frame.frame.frame_id;
  const take = screenPrefs.now.pictures === "hidden" ? null : shownTake(roll, frame);
  const mark = frame.frame.mark;
  const name = `Frame ${number}, strip ${strip.number}, place ${place}${mark ? `, edge mark ${mark}` : ""}: ${said || kindOf(frame)}`;
  const loud = said && kindOf(frame) === "picture" && said !== "retaken";
  return html`<li><button class=${`shot${loud ? " loud" : ""}`} data-key=${id} aria-pressed=${String(chosen === id)} aria-label=${name} title=${name}
    on-click=${() => choose(chosen === id ? null : id)}>${take ? small(take, wayOf(strip, screenPrefs.now)) : html`<span class="blank">${place}</span>`}
    <span class="under"><b>${number}</b><span class="dim">${mark}</span></span><span class="said">${said}</span></button></li>`;
}
