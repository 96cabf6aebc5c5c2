// What stands between the work and its handover: every roll, every frame, every file.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { Problem, get, post } from "../net/api.js";
import { counts } from "../roll/roll.js";
import { mayWork } from "../state/people.js";
import { spanWords } from "../state/pace.js";
import { store } from "../state/store.js";
import { toLookAt } from "../rolls/outlook.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").Tally} Tally */
/** @typedef {{rolls: number, closed: number, unknown: number, tally: Tally, left: {frames: number, unknown: number, seconds: number}}} Totals */
/** @typedef {{files: number, bad: number, lines: {path: string, ok: boolean, why: string}[]}} Report */

export class Handover extends Part {
  /** @type {Totals | null} */
  #totals = null;
  #unread = 0;
  /** @type {Report | null} */
  #report = null;
  #reading = false;

  /** @param {View} view */
  regard(view) {
    return [view.link, view.tally, view.state?.roll_id, view.state?.unclaimed, mayWork(view)];
  }

  /** @param {View} view */
  draw(view) {
    if (view.link === "on" && view.state) void this.#look();
    else this.replaceChildren();
  }

  async #look() {
    [this.#totals, { files: this.#unread }] = await Promise.all([get("/api/tally/job"), get("/api/unread")]);
    this.#show();
  }

  #show() {
    const totals = this.#totals;
    if (!totals) return;
    const open = blockers(totals, this.#unread, store.view.state?.unclaimed ?? 0);
    this.fill(html`<section class="card"><h2>Before it leaves the house</h2>
        <p class="big">${open.length ? `${open.length} ${open.length === 1 ? "thing stands" : "things stand"} in the way` : "Nothing stands in the way"}</p>
        <ul class="rows">${open.map(({ words, to, way }) => html`<li><div><p>${words}</p></div>${to && html`<a class="button" href=${to}>${way}</a>`}</li>`)}</ul>
        ${counts(totals.tally)}${leftWords(totals.left)}</section>
      <section class="card"><h2>Files</h2>${this.#files()}
        <p class="dim">Positives, contact sheets and the package itself are not made here yet. The raw files lie in a folder a
          roll, each with its checksum in manifest-sha256.txt.</p></section>`);
  }

  #files() {
    const report = this.#report;
    const unread = this.#unread;
    const words = unread ? `${unread} files have not been read back since they were stored.` : "Every file was read back as it was stored.";
    return html`<p>${words}</p>
      ${mayWork(store.view) ? html`<button data-key="verify" disabled=${this.#reading} on-click=${() => void this.#verify()}>
        ${this.#reading ? "Reading" : "Read every file back"}</button>` : null}
      ${report ? html`<p role="status">${report.files} files read, ${report.bad} not as they were stored.</p>
        <ul class="rows">${report.lines.filter((line) => !line.ok).map((line) => html`<li class="bad"><div><p>${line.path}</p><p>${line.why}</p></div></li>`)}</ul>` : null}`;
  }

  async #verify() {
    this.#reading = true;
    this.#show();
    try {
      this.#report = await post("/api/verify", { roll_id: null });
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      store.refuse(error.refusal);
    }
    this.#reading = false;
    await this.#look();
  }
}

/** What is left to take, and how long that will be at the job's own pace. @param {Totals["left"]} left */
function leftWords({ frames, seconds, unknown }) {
  if (!frames) return null;
  const more = unknown ? `, and ${unknown} rolls more of which nobody knows` : "";
  return html`<p class="dim">${frames} frames are still to be taken, about ${spanWords(seconds)} of work${more}.</p>`;
}

/** @param {Totals} totals @param {number} unread files not read back @param {number} strays @returns {{words: string, to?: string, way?: string}[]} */
function blockers({ rolls, closed, unknown, tally }, unread, strays) {
  const some = (/** @type {number} */ n, /** @type {string} */ one, /** @type {string} */ many) => `${n} ${n === 1 ? one : many}`;
  const all = [
    rolls === 0 && { words: "No roll has been planned yet.", to: "#rolls", way: "Rolls" },
    rolls > closed && { words: `${some(rolls - closed, "roll is", "rolls are")} not done.`, to: "#rolls", way: "Rolls" },
    tally.missing > 0 && { words: `${some(tally.missing, "frame is", "frames are")} missing.`, to: "#rolls", way: "Rolls" },
    toLookAt(tally) > 0 && { words: `${some(toLookAt(tally), "frame wants", "frames want")} a look.`, to: "#rolls", way: "Rolls" },
    unknown > 0 && { words: `Of ${some(unknown, "roll", "rolls")} nobody knows how many frames there should be.` },
    unread > 0 && { words: `${some(unread, "file has", "files have")} not been read back.` },
    strays > 0 && { words: `${some(strays, "file belongs", "files belong")} to no take.` },
  ];
  return all.flatMap((one) => (one ? [one] : []));
}
