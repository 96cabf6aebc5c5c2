// One frame, closely: its positive, pixel by pixel if wanted, its takes, and what is said of it.

import { html } from "../base/html.js";
import { wayOf } from "../base/orient.js";
import { screenPrefs } from "../base/prefs.js";
import { text, typed } from "../forms/fields.js";
import { shown } from "../last/shown.js";
import { command } from "../net/command.js";
import { mayWork } from "../state/people.js";
import { isSuspect, kindOf } from "../state/tally.js";
import { outcomeWords, shutterWords, verdictWords } from "../state/words.js";
import { full } from "./full.js";
import { shownTake } from "./kinds.js";
import { told } from "./told.js";

/** @typedef {import("../state/types.js").RollState} RollState */
/** @typedef {import("../state/types.js").FrameState} FrameState */
/** @typedef {import("../state/types.js").Take} Take */
/**
 * @typedef {object} Close
 * @property {import("../state/store.js").View} view
 * @property {number} number of the frame on the roll
 * @property {string | null} before the frame before it among those that are shown, @property {string | null} after
 * @property {(frame: string | null) => void} choose
 * @property {boolean} pixels one pixel of the picture for one of the screen
 * @property {(pixels: boolean) => void} closer
 * @property {() => void} changed something was said about it
 */

/** @param {RollState} roll @param {FrameState} frame @param {Close} close */
export function closely(roll, frame, close) {
  const strip = roll.strips[frame.frame.strip_id] ?? null;
  const takes = frame.takes.map((id) => roll.takes[id]).filter(Boolean);
  const { place, mark } = frame.frame;
  const where = `strip ${strip?.number ?? "?"}, place ${place}${mark ? `, edge mark ${mark}` : ""}`;
  return html`<section class="card looked" tabindex="-1" aria-label=${`Frame ${close.number}`}>
    <div class="head"><h3>Frame ${close.number}: ${kindOf(frame)}</h3>${steps(close)}</div><p class="dim">${where}</p>
    ${frame.again && html`<p class="bad">To be taken again: ${frame.again}</p>`}${doubts(roll, frame)}
    ${picture(roll, frame, close, `Positive of frame ${close.number}`)}
    <ul class="rows">${takes.map((take) => row(take, frame, close))}</ul>
    ${mayWork(close.view) ? html`${said(roll, frame, close)}${told(frame, roll.roll.about, close.changed)}` : null}</section>`;
}

/** @param {Close} close */
function steps({ before, after, choose }) {
  return html`<div class="row"><button data-key="frame-before" disabled=${!before} on-click=${() => choose(before)}>Before</button>
    <button data-key="frame-after" disabled=${!after} on-click=${() => choose(after)}>After</button>
    <button data-key="frame-leave" on-click=${() => choose(null)}>Leave it</button></div>`;
}

/** Why it is in doubt. @param {RollState} roll @param {FrameState} frame */
function doubts(roll, frame) {
  if (!isSuspect(frame, roll)) return null;
  const found = frame.keeper.map((id) => roll.takes[id]?.verdict?.why).filter(Boolean).join(" ");
  return html`<p class="bad">Doubtful: ${frame.doubt || found || "its keeper is not as it should be."}</p>`;
}

/** @param {RollState} roll @param {FrameState} frame @param {Close} close @param {string} words */
function picture(roll, frame, { pixels, closer }, words) {
  const take = shownTake(roll, frame);
  if (!take || screenPrefs.now.pictures === "hidden") return null;
  const way = wayOf(roll.strips[frame.frame.strip_id] ?? null, screenPrefs.now);
  const whole = `/api/takes/${encodeURIComponent(take)}/picture?tone=positive`;
  return html`<div class="row"><button data-key="pixels" aria-pressed=${String(pixels)} on-click=${() => closer(!pixels)}>Pixel by pixel</button></div>
    ${pixels ? full(take, way, words) : html`<div class="picture">${shown(whole, words, way)}</div>`}`;
}

/** @param {Take} take @param {FrameState} frame @param {Close} close */
function row(take, frame, { view, changed }) {
  const kept = frame.keeper.includes(take.take_id);
  const words = [verdictWords(take), outcomeWords(take, kept)].filter(Boolean).join(", ");
  const count = async () => {
    if (await command("/api/frames/keep", { frame: frame.frame.frame_id, takes: [take.take_id] })) changed();
  };
  return html`<li><div><p>Take ${take.number}, ${shutterWords(take.want.shutter_s)}: ${words}</p>
    <p class="dim">${[take.path, take.verified && "read back"].filter(Boolean).join(", ")}</p></div>
    ${!kept && take.path && mayWork(view) ? html`<button data-key=${`keep-${take.take_id}`} on-click=${count}>Let this one count</button>` : null}</li>`;
}

/** @param {RollState} roll @param {FrameState} frame @param {Close} close */
function said(roll, frame, close) {
  const id = frame.frame.frame_id;
  const tell = (/** @type {string} */ path, /** @type {object} */ body) => async () => {
    if (await command(path, { ids: [id], ...body })) close.changed();
  };
  const open = isSuspect(frame, roll) || Boolean(frame.again);
  return html`<div class="row" role="group" aria-label="What becomes of it">
      ${open ? html`<button class="main" data-key="accept" on-click=${tell("/api/frames/accept", {})}>It will do</button>` : null}
      ${frame.again ? html`<button data-key="not-again" on-click=${tell("/api/frames/want", { why: "" })}>Off the list</button>` : null}</div>
    ${frame.again ? null : again(roll, frame, close)}
    <div class="row" role="group" aria-label="What the film shows">
      ${["picture", "unexposed", "fogged"].map((film) => html`<button data-key=${`film-${film}`} aria-pressed=${String(frame.film === film)}
        on-click=${tell("/api/frames/mark", { film })}>${film}</button>`)}
      <button data-key="film-none" disabled=${!frame.marks.length} on-click=${tell("/api/frames/mark", { film: null })}>as rigd found it</button></div>`;
}

/** @param {RollState} roll @param {FrameState} frame @param {Close} close */
function again(roll, frame, { changed }) {
  const usual = frame.keeper.map((id) => roll.takes[id]?.verdict).find((v) => v && v.take !== "good")?.why ?? "";
  const submit = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const why = typed(/** @type {HTMLFormElement} */ (event.target), "why");
    if (await command("/api/frames/want", { ids: [frame.frame.frame_id], why })) changed();
  };
  return html`<form class="again" on-submit=${submit}>${text("why", "Take it again, because", { required: true, value: usual.slice(0, 120) })}
    <button data-key="again">Onto the list</button></form>`;
}
