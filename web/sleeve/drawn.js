// A roll as it lies in its sleeve: a row a strip, a cell a place. Shape, number and name tell each frame's state.

import { html } from "../base/html.js";
import { isSuspect, kindOf } from "../state/tally.js";

/** @typedef {import("../state/types.js").RollState} RollState */
/** @typedef {import("../state/types.js").FrameState} FrameState */
/** @typedef {{strip: number, place: number}} Spot */
/** @typedef {{number: number, places: number | null, frames: FrameState[]}} Row */
/**
 * @typedef {object} Around
 * @property {(Spot & {places: number | null}) | null} next the place that a trigger would take
 * @property {string | null} chosen the frame that was picked, by id
 * @property {(frameId: string | null) => void} choose
 */

const WORDS = {
  picture: "picture kept", unexposed: "unexposed", fogged: "fogged", skipped: "passed over", open: "unsettled",
};

const SHAPES = {
  picture: "filled: kept", unexposed: "a line: unexposed", fogged: "veiled: fogged",
  skipped: "open sides: passed over", open: "dotted: unsettled",
};

/** @param {RollState} roll @param {Around} around */
export function sleeve(roll, around) {
  return html`<div class="sleeve"><ol class="strips">${rows(roll, around).map((one) => row(roll, one, around))}</ol>${key(roll)}</div>`;
}

/** @param {RollState} roll @param {Around} around @returns {Row[]} */
function rows(roll, { next }) {
  const strips = Object.values(roll.strips).sort((a, b) => a.number - b.number);
  const known = strips.map((s) => ({ number: s.number, places: s.places, frames: framesOf(roll, s.strip_id) }));
  if (!next || strips.some((s) => s.number === next.strip)) return known;
  return [...known, { number: next.strip, places: next.places, frames: [] }];
}

/** What the shapes mean, of those that are there. @param {RollState} roll */
function key(roll) {
  const there = new Set(Object.values(roll.frames).map(kindOf));
  return html`<p class="key">${[...there].map((kind) => html`<span>${SHAPES[kind]}</span>`)}</p>`;
}

/** @param {RollState} roll @param {string} stripId */
function framesOf(roll, stripId) {
  return Object.values(roll.frames).filter((f) => f.frame.strip_id === stripId);
}

/** @param {RollState} roll @param {Row} row @param {Around} around */
function row(roll, { number, places, frames }, around) {
  const here = around.next?.strip === number ? around.next.place : 0;
  const last = Math.max(places ?? 0, here, ...frames.map((f) => f.frame.place));
  const cells = Array.from({ length: last }, (_, i) => {
    const frame = frames.find((f) => f.frame.place === i + 1);
    const current = here === i + 1;
    if (!frame) return empty(i + 1, current);
    const marks = `${current ? "current" : ""} ${isSuspect(frame, roll) ? "doubt" : ""}`;
    return taken(frame, nameOf(roll, frame, { strip: number, place: i + 1 }), marks, around);
  });
  return html`<li><span class="strip" title=${`Strip ${number}`}>${number}</span><div class="cells">${cells}</div></li>`;
}

/** All that a cell's shape says, in words. @param {RollState} roll @param {FrameState} frame @param {Spot} spot */
function nameOf(roll, frame, spot) {
  const doubt = isSuspect(frame, roll) ? ", doubtful" : "";
  const takes = frame.takes.length > 1 ? `, ${frame.takes.length} takes` : "";
  return `Strip ${spot.strip}, place ${spot.place}: ${WORDS[kindOf(frame)]}${doubt}${takes}`;
}

/** @param {FrameState} frame @param {string} name @param {string} marks @param {Around} around */
function taken(frame, name, marks, { chosen, choose }) {
  const id = frame.frame.frame_id;
  const pick = () => choose(chosen === id ? null : id);
  return html`<button class=${`cell ${kindOf(frame)} ${marks}`} data-key=${id} aria-pressed=${String(chosen === id)}
    aria-label=${name} title=${name} on-click=${pick}>${frame.frame.mark || frame.frame.place}</button>`;
}

/** @param {number} place @param {boolean} current */
function empty(place, current) {
  return current
    ? html`<span class="cell none current">${place}<span class="unseen"> comes next</span></span>`
    : html`<span class="cell none">${place}</span>`;
}
