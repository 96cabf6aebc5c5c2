// The roll as it lies in its sleeve: a row a strip, a cell a place. Shape, number and name tell each frame's state.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { currentRoll } from "../state/copies.js";
import { nextPlace } from "../state/situation.js";
import { store } from "../state/store.js";
import { isSuspect, kindOf } from "../state/tally.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").RollState} RollState */
/** @typedef {import("../state/types.js").FrameState} FrameState */
/** @typedef {{strip: number, place: number}} Spot */
/** @typedef {{number: number, places: number | null, frames: FrameState[]}} Row */

const WORDS = {
  picture: "picture kept", unexposed: "unexposed", fogged: "fogged", skipped: "passed over", open: "unsettled",
};

const SHAPES = {
  picture: "filled: kept", unexposed: "a line: unexposed", fogged: "veiled: fogged",
  skipped: "open sides: passed over", open: "dotted: unsettled",
};

export class Sleeve extends Part {
  /** @param {View} view */
  regard(view) {
    const roll = view.state && currentRoll(view.state);
    return [roll?.roll, roll?.strips, roll?.frames, view.chosen, nextPlace(view)];
  }

  /** @param {View} view */
  draw(view) {
    const roll = view.state && currentRoll(view.state);
    if (!roll) return this.replaceChildren();
    const next = nextPlace(view);
    const strips = Object.values(roll.strips).sort((a, b) => a.number - b.number);
    /** @type {Row[]} */
    const rows = strips.map((s) => ({ number: s.number, places: s.places, frames: framesOf(roll, s.strip_id) }));
    const known = !next || strips.some((s) => s.number === next.strip);
    if (!known) rows.push({ number: next.strip, places: next.places, frames: [] });
    return this.fill(html`<h2>Sleeve</h2><ol class="strips">
      ${rows.map((one) => row(roll, one, next, view.chosen))}
    </ol>${key(roll)}`);
  }
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

/** @param {RollState} roll @param {Row} row @param {Spot | null} next @param {string | null} chosen */
function row(roll, { number, places, frames }, next, chosen) {
  const here = next?.strip === number ? next.place : 0;
  const last = Math.max(places ?? 0, here, ...frames.map((f) => f.frame.place));
  const cells = Array.from({ length: last }, (_, i) => {
    const frame = frames.find((f) => f.frame.place === i + 1);
    const spot = { strip: number, place: i + 1 };
    const current = here === i + 1;
    if (!frame) return empty(spot, current);
    const marks = `${current ? "current" : ""} ${isSuspect(frame, roll) ? "doubt" : ""}`;
    return taken(frame, nameOf(roll, frame, spot), marks, chosen);
  });
  return html`<li>
    <span class="strip" title=${`Strip ${number}`}>${number}</span><div class="cells">${cells}</div></li>`;
}

/** All that a cell's shape says, in words. @param {RollState} roll @param {FrameState} frame @param {Spot} spot */
function nameOf(roll, frame, spot) {
  const doubt = isSuspect(frame, roll) ? ", doubtful" : "";
  const takes = frame.takes.length > 1 ? `, ${frame.takes.length} takes` : "";
  return `Strip ${spot.strip}, place ${spot.place}: ${WORDS[kindOf(frame)]}${doubt}${takes}`;
}

/** @param {FrameState} frame @param {string} name @param {string} marks @param {string | null} chosen */
function taken(frame, name, marks, chosen) {
  const id = frame.frame.frame_id;
  const classes = `cell ${kindOf(frame)} ${marks}`;
  const choose = () => store.choose(chosen === id ? null : id);
  return html`<button class=${classes} data-key=${id} aria-pressed=${String(chosen === id)} aria-label=${name}
    title=${name} on-click=${choose}>${frame.frame.mark || frame.frame.place}</button>`;
}

/** @param {Spot} spot @param {boolean} current */
function empty(spot, current) {
  return current
    ? html`<span class="cell none current">${spot.place}<span class="unseen"> comes next</span></span>`
    : html`<span class="cell none">${spot.place}</span>`;
}
