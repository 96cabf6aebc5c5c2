// One roll: its counts, its sleeve, and the frame that is looked at, whichever roll is in hand.

import { html } from "../base/html.js";
import { screenPrefs } from "../base/prefs.js";
import { wayOf } from "../base/orient.js";
import { shown } from "../last/shown.js";
import { command } from "../net/command.js";
import { counts, filmWords, sum } from "../roll/roll.js";
import { sleeve } from "../sleeve/drawn.js";
import { handsFree, mayWork } from "../state/people.js";
import { isSuspect, kindOf, tally } from "../state/tally.js";
import { outcomeWords, shutterWords, verdictWords } from "../state/words.js";
import { turnTo } from "./turn.js";

/** @typedef {import("../state/types.js").RollState} RollState */
/** @typedef {import("../state/types.js").FrameState} FrameState */
/** @typedef {import("../state/types.js").Take} Take */
/**
 * @typedef {object} Around
 * @property {import("../state/store.js").View} view
 * @property {string | null} frame the one that is looked at
 * @property {(frame: string | null) => void} choose
 * @property {() => void} changed something was said about it
 */

/** @param {RollState} roll @param {Around} around */
export function oneRoll(roll, around) {
  const count = tally(roll);
  const { view, frame, choose } = around;
  const found = frame ? roll.frames[frame] : null;
  return html`<section class="card one"><h2>${roll.roll.label}</h2><p class="dim">${filmWords(roll.roll)}</p>
    ${sum(count)}${counts(count)}
    <div class="row">${turning(roll, view)}</div>
    ${sleeve(roll, { next: null, chosen: frame, choose })}
    ${found ? look(roll, found, around) : null}</section>`;
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

/** @param {RollState} roll @param {FrameState} frame @param {Around} around */
function look(roll, frame, around) {
  const { frame: spot } = frame;
  const strip = roll.strips[spot.strip_id] ?? null;
  const takes = frame.takes.map((id) => roll.takes[id]).filter(Boolean);
  const best = frame.keeper.at(-1) ?? takes.filter((take) => take.path).at(-1)?.take_id;
  const name = `Strip ${strip?.number ?? "?"}, place ${spot.place}${spot.mark ? `, edge mark ${spot.mark}` : ""}`;
  const doubt = frame.doubt || (isSuspect(frame, roll) ? "Its keeper is in doubt." : "");
  return html`<div class="looked"><h3>${name}: ${kindOf(frame)}</h3>
    ${doubt && html`<p class="bad">${doubt}</p>`}
    ${best && screenPrefs.now.pictures !== "hidden" ? html`<div class="picture">${shown(
      `/api/takes/${encodeURIComponent(best)}/picture?tone=positive`, `Positive of ${name}`, wayOf(strip, screenPrefs.now))}</div>` : null}
    <ul class="rows">${takes.map((take) => row(take, frame))}</ul>
    ${mayWork(around.view) ? marks(frame, around) : null}</div>`;
}

/** @param {Take} take @param {FrameState} frame */
function row(take, frame) {
  const words = [verdictWords(take), outcomeWords(take, frame.keeper.includes(take.take_id))].filter(Boolean).join(", ");
  return html`<li><div><p>Take ${take.number}, ${shutterWords(take.want.shutter_s)}: ${words}</p>
    <p class="dim">${[take.path, take.verified && "read back"].filter(Boolean).join(", ")}</p></div></li>`;
}

/** @param {FrameState} frame @param {Around} around */
function marks(frame, { changed }) {
  const say = (/** @type {string | null} */ film) => async () => {
    if (await command("/api/mark", { frame_id: frame.frame.frame_id, film })) changed();
  };
  const now = frame.film;
  return html`<div class="row" role="group" aria-label="What the film shows">
    ${["picture", "unexposed", "fogged"].map((film) => html`<button data-key=${`film-${film}`} aria-pressed=${String(now === film)}
      on-click=${say(film)}>${film}</button>`)}
    <button data-key="film-none" disabled=${!frame.marks.length} on-click=${say(null)}>as rigd found it</button></div>`;
}
