// The wide strip: what to do now in one word, the sentence to it, where the job stands, and how far the cycle is.

import { gate } from "../base/gate.js";
import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { currentRoll } from "../state/copies.js";
import { STEPS } from "../state/moment.js";
import { situation } from "../state/situation.js";

/** @typedef {import("../state/store.js").View} View */

const LINK = { on: "linked", lost: "no link", linking: "linking", shut: "locked" };

export class Band extends Part {
  /** @param {View} view */
  regard(view) {
    return [situation(view), view.moment.step, view.link, view.vitals, view.control?.id === view.me?.id, whereWords(view)];
  }

  /** @param {View} view */
  draw(view) {
    const now = situation(view);
    this.dataset.mood = now.mood;
    document.title = `${now.word} - rigd`;
    this.fill(html`
      <div class="now">${gate(now.mood)}<p class="word">${now.word}</p><p class="line">${now.line}</p></div>
      <div class="edge"><ul class="vitals" aria-label="Rig">${facts(view)}</ul>
        <ol class="steps" aria-hidden="true">${STEPS.map((step) => cell(step, view.moment.step))}</ol></div>`);
  }
}

/** @param {string} step @param {string} current */
function cell(step, current) {
  const order = /** @type {readonly string[]} */ (STEPS);
  const at = order.indexOf(current);
  const place = order.indexOf(step);
  const kind = at < 0 ? "idle" : place < at ? "past" : place === at ? "here" : "idle";
  return html`<li class=${kind}><span>${step}</span></li>`;
}

/** What stands at the edge of the strip: the roll, the line, and what is missing or running low. @param {View} view */
function facts(view) {
  const { vitals, control, me } = view;
  const link = fact(LINK[view.link], view.link !== "on");
  if (!vitals || view.link !== "on") return [link];
  const { battery_pct: battery, frames_left: room } = vitals;
  return [
    fact(whereWords(view), false), link, control && control.id === me?.id ? fact("in control", false) : null,
    vitals.camera_ok ? null : fact("no camera", true),
    vitals.board && !vitals.board_ok ? fact("no advancer", true) : null,
    // A battery that is half full is no news, nor is room for more than a long day's work.
    battery !== null && battery < 50 ? fact(`battery ${battery} %`, battery < 20) : null,
    room !== null && room < 1000 ? fact(`room for ${room} frames`, room < 200) : null,
  ];
}

/** The roll in hand and how far it is. @param {View} view */
function whereWords({ state, tally }) {
  const roll = state && currentRoll(state);
  if (!roll || !tally) return "";
  const done = tally.pictures + tally.unexposed + tally.fogged;
  return `${done}${tally.expected === null ? "" : ` of ${tally.expected}`} on ${roll.roll.label}`;
}

/** @param {string} words @param {boolean} bad */
function fact(words, bad) {
  return words && html`<li class=${bad ? "bad" : ""}>${words}</li>`;
}
