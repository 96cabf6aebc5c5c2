// Going back: the frames that somebody should look at or take again, one after the other, while the film is at hand.

import { html } from "../base/html.js";
import { wayOf } from "../base/orient.js";
import { Part } from "../base/part.js";
import { screenPrefs } from "../base/prefs.js";
import { Problem, get } from "../net/api.js";
import { command } from "../net/command.js";
import { shownTake } from "../rolls/kinds.js";
import { toLookAt } from "../rolls/outlook.js";
import { small } from "../rolls/small.js";
import { handsFree, mayWork } from "../state/people.js";
import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {{frame_id: string, roll_id: string, label: string, where: string, number: number, strip: number, place: number, kind: string, why: string}} ToDo */

const MOST = 100;
/** @type {Record<string, string>} */
const KINDS = { again: "to take again", suspect: "doubtful", skipped: "passed over", open: "unsettled" };

export class Errand extends Part {
  #open = false;
  /** @type {ToDo[]} */
  #list = [];
  #at = 0;

  /** @param {View} view */
  regard(view) {
    return [view.link, view.state?.roll_id, view.state?.frame_id, view.tally && toLookAt(view.tally), view.tally?.takes, handsFree(view), mayWork(view)];
  }

  /** @param {View} view */
  draw(view) {
    if (view.link !== "on" || !view.tally) return this.replaceChildren();
    if (this.#open) return void this.#load();
    const n = toLookAt(view.tally);
    if (!n) return this.replaceChildren();
    const words = `${n} ${n === 1 ? "frame" : "frames"} of this roll to go back to`;
    return this.fill(html`<div class="errand"><p>${words}</p><button data-key="errand" aria-expanded="false" on-click=${this.#toggle}>Go through them</button></div>`);
  }

  #toggle = () => {
    this.#open = !this.#open;
    this.#at = 0;
    this.draw(store.view);
  };

  async #load() {
    try {
      const found = /** @type {ToDo[]} */ (await get(`/api/frames/todo?limit=${MOST}`));
      const here = store.view.state?.roll_id;
      this.#list = [...found.filter((one) => one.roll_id === here), ...found.filter((one) => one.roll_id !== here)];
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return store.refuse(error.refusal);
    }
    this.#at = Math.min(this.#at, Math.max(0, this.#list.length - 1));
    if (this.#open) this.#show();
    return undefined;
  }

  #show() {
    const one = this.#list[this.#at];
    const view = store.view;
    this.fill(html`<section class="errand" aria-label="Going back">
      <div class="head"><p>${one ? `${this.#at + 1} of ${this.#list.length}${this.#list.length === MOST ? " and more" : ""}` : "Nothing is left to go back to."}</p>
        <button data-key="errand" aria-expanded="true" on-click=${this.#toggle}>Enough</button></div>
      ${one ? this.#one(one, view) : null}</section>`);
  }

  /** @param {ToDo} one @param {View} view */
  #one(one, view) {
    const here = one.roll_id === view.state?.roll_id;
    const roll = here ? "" : `${one.label}${one.where ? ` (${one.where})` : ""}, `;
    const up = view.state?.frame_id === one.frame_id;
    const bring = () => command("/api/frames/recall", { frame: one.frame_id });
    const accept = async () => {
      if (await command("/api/frames/accept", { ids: [one.frame_id] })) void this.#load();
    };
    return html`<p class="what">${roll}strip ${one.strip}, place ${one.place}: ${KINDS[one.kind] ?? one.kind}</p>
      <p class="dim">${up ? "It is up: bring it into the gate, then press." : one.why}</p>
      <div class="row">
        ${mayWork(view) && one.kind === "suspect" ? html`<button data-key="will-do" on-click=${accept}>It will do</button>` : null}
        <button class="main" data-key="bring" disabled=${up || !handsFree(view)} on-click=${bring}>Bring it up</button>
        <button data-key="later" disabled=${this.#list.length < 2} on-click=${() => this.#step()}>Another one</button></div>${picture(one, view)}`;
  }

  #step() {
    this.#at = (this.#at + 1) % this.#list.length;
    this.#show();
  }
}

/** Its small positive, where the page knows its roll. @param {ToDo} one @param {View} view */
function picture(one, view) {
  const roll = view.state?.rolls[one.roll_id];
  const frame = roll?.frames[one.frame_id];
  const take = roll && frame ? shownTake(roll, frame) : null;
  if (!roll || !frame || !take || screenPrefs.now.pictures === "hidden") return null;
  return html`<div class="shot">${small(take, wayOf(roll.strips[frame.frame.strip_id] ?? null, screenPrefs.now))}</div>`;
}
