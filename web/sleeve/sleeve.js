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

const WORDS = {
  picture: "picture kept", unexposed: "unexposed", fogged: "fogged", skipped: "passed over", open: "unsettled",
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
    const coming = next && !strips.some((s) => s.number === next.strip) ? [next] : [];
    return this.fill(html`<h2>Sleeve</h2><ol class="strips">
      ${strips.map((s) => row(roll, s.number, s.places, framesOf(roll, s.strip_id), next, view.chosen))}
      ${coming.map((c) => row(roll, c.strip, c.places, [], next, view.chosen))}
    </ol>${key(roll)}`);
  }
}

/** What the shapes mean, of those that are there. @param {RollState} roll */
function key(roll) {
  const shapes = { picture: "filled: kept", unexposed: "a line: unexposed", fogged: "veiled: fogged", skipped: "open sides: passed over", open: "dotted: unsettled" };
  const there = new Set(Object.values(roll.frames).map(kindOf));
  return html`<p class="key">${[...there].map((kind) => html`<span>${shapes[kind]}</span>`)}</p>`;
}

/** @param {RollState} roll @param {string} stripId */
function framesOf(roll, stripId) {
  return Object.values(roll.frames).filter((f) => f.frame.strip_id === stripId);
}

/** @param {RollState} roll @param {number} number @param {number | null} places @param {FrameState[]} frames @param {Spot | null} next @param {string | null} chosen */
function row(roll, number, places, frames, next, chosen) {
  const here = next?.strip === number ? next.place : 0;
  const last = Math.max(places ?? 0, here, ...frames.map((f) => f.frame.place));
  const cells = Array.from({ length: last }, (_, i) => {
    const frame = frames.find((f) => f.frame.place === i + 1);
    const spot = { strip: number, place: i + 1 };
    return frame ? taken(roll, frame, spot, here === i + 1, chosen) : empty(spot, here === i + 1);
  });
  return html`<li><span class="strip" title=${`Strip ${number}`}>${number}</span><div class="cells">${cells}</div></li>`;
}

/** @param {RollState} roll @param {FrameState} frame @param {Spot} spot @param {boolean} current @param {string | null} chosen */
function taken(roll, frame, spot, current, chosen) {
  const id = frame.frame.frame_id;
  const doubt = isSuspect(frame, roll);
  const words = `Strip ${spot.strip}, place ${spot.place}: ${WORDS[kindOf(frame)]}${doubt ? ", doubtful" : ""}${frame.takes.length > 1 ? `, ${frame.takes.length} takes` : ""}`;
  const classes = ["cell", kindOf(frame), current ? "current" : "", doubt ? "doubt" : ""].join(" ");
  return html`<button class=${classes} data-key=${id} aria-pressed=${String(chosen === id)} aria-label=${words} title=${words}
    on-click=${() => store.choose(chosen === id ? null : id)}>${frame.frame.mark || spot.place}</button>`;
}

/** @param {Spot} spot @param {boolean} current */
function empty(spot, current) {
  return html`<span class=${current ? "cell none current" : "cell none"}>${spot.place}${current ? html`<span class="unseen"> comes next</span>` : null}</span>`;
}
