// One roll: its counts, its contact sheet, and the frame that is looked at, whichever roll is in hand.

import { html } from "../base/html.js";
import { command } from "../net/command.js";
import { counts, filmWords, sum } from "../roll/roll.js";
import { cadenceWords, spanWords } from "../state/pace.js";
import { handsFree, mayWork } from "../state/people.js";
import { tally } from "../state/tally.js";
import { contact } from "./contact.js";
import { closely } from "./frame.js";
import { isOf, rowsOf } from "./kinds.js";
import { turnTo } from "./turn.js";

/** @typedef {import("../state/types.js").RollState} RollState */
/**
 * @typedef {object} Around
 * @property {import("../state/store.js").View} view
 * @property {string | null} frame the one that is looked at
 * @property {(frame: string | null) => void} choose
 * @property {import("./kinds.js").Sort} sort which frames are shown
 * @property {(sort: import("./kinds.js").Sort) => void} show
 * @property {boolean} pixels one pixel of the picture for one of the screen
 * @property {(pixels: boolean) => void} closer
 * @property {() => void} changed something was said about it
 * @property {number} pace seconds a frame, of the whole job or by hand
 * @property {(() => void) | null} next to the roll after it in the list
 * @property {() => void} leave back to the list
 */

/** @param {RollState} roll @param {Around} around */
export function oneRoll(roll, around) {
  const count = tally(roll);
  const sheet = `/api/rolls/${encodeURIComponent(roll.roll.roll_id)}/sheet`;
  return html`<div class="one"><section class="card">
    <button class="narrow" data-key="rolls-all" on-click=${around.leave}>All rolls</button><h2>${roll.roll.label}</h2><p class="dim">${told(roll)}</p>
    ${sum(count)}${counts(count)}<p class="dim">${cadenceWords(roll, count) || ahead(roll, count, around.pace)}</p>
    <div class="row">${turning(roll, around.view)}<a class="button" href=${sheet} download>Contact sheet, PDF</a>${allDo(roll, around)}
      ${around.next ? html`<button data-key="next-roll" on-click=${around.next}>Next roll</button>` : null}</div>
    ${around.frame ? closer(roll, around) : null}${contact(roll, around)}</section></div>`;
}

/** What it will take, before it has a pace of its own. @param {RollState} roll
 * @param {import("../state/types.js").Tally} count @param {number} pace */
function ahead(roll, count, pace) {
  if (roll.closed || count.expected === null || !count.missing) return "";
  return `${count.missing} to come: about ${spanWords(count.missing * pace)} at ${Math.round(pace)} s a frame`;
}

/** @param {RollState} roll */
function told({ roll }) {
  const base = roll.base_type === "safety" ? "" : roll.base_type === "nitrate" ? "nitrate base" : "base not known";
  const about = [roll.about.title, roll.about.place, roll.about.dates, roll.about.photographer];
  return [filmWords(roll), base, roll.stock, ...about].filter(Boolean).join(", ");
}

/** @param {RollState} roll @param {import("../state/store.js").View} view */
function turning(roll, view) {
  const id = roll.roll.roll_id;
  const current = view.state?.roll_id === id && !roll.closed;
  const off = !handsFree(view) || !mayWork(view);
  return current
    ? html`<a class="button" href="#run">To the rig</a><button data-key="close" disabled=${off} on-click=${() => turnTo(id, "close")}>Done with it</button>`
    : html`<button data-key="open" class="main" disabled=${off} on-click=${() => turnTo(id, "open")}>${roll.closed ? "Open it again" : "Open it"}</button>`;
}

/** Doubts that turn out to be none are settled together. @param {RollState} roll @param {Around} around */
function allDo(roll, { sort, view, changed }) {
  const ids = shownFrames(roll, sort);
  if (sort !== "doubt" || ids.length < 2 || !mayWork(view)) return null;
  const accept = async () => {
    if (await command("/api/frames/accept", { ids })) changed();
  };
  return html`<button data-key="all-do" on-click=${accept}>All ${ids.length} of these will do</button>`;
}

/** @param {RollState} roll @param {import("./kinds.js").Sort} sort @returns {string[]} */
function shownFrames(roll, sort) {
  const spots = rowsOf(roll).flatMap((row) => row.spots).filter((spot) => isOf(roll, spot, sort));
  return spots.flatMap((spot) => (spot.frame ? [spot.frame.frame.frame_id] : []));
}

/** @param {RollState} roll @param {Around} around */
function closer(roll, around) {
  const spots = rowsOf(roll).flatMap((row) => row.spots);
  const here = spots.find((spot) => spot.frame?.frame.frame_id === around.frame);
  if (!here?.frame) return null;
  const ids = shownFrames(roll, around.sort);
  const at = ids.indexOf(around.frame ?? "");
  return closely(roll, here.frame, {
    ...around, number: here.number, before: ids[at - 1] ?? null, after: (at < 0 ? ids[0] : ids[at + 1]) ?? null,
  });
}
