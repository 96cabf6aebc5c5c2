// The job's rolls: what is done, what is missing, and a closer look at one of them.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { Problem, get } from "../net/api.js";
import { handsFree, mayWork } from "../state/people.js";
import { store } from "../state/store.js";
import { jobForm, planForm } from "./forms.js";
import { oneRoll } from "./one.js";
import { outlook, wanted } from "./outlook.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").RollState} RollState */
/** @typedef {import("./outlook.js").Line} Line */
/** @typedef {import("./outlook.js").Filter} Filter */

/** @type {[Filter, string][]} */
const FILTERS = [["all", "all"], ["undone", "unfinished"], ["look", "with doubts"]];
// A job may hold thousands of rolls: so many at once are shown, and more on request.
const PAGE = 60;

export class Rolls extends Part {
  /** @type {Line[]} */
  #lines = [];
  #more = false;
  /** @type {RollState | null} */
  #open = null;
  /** @type {string | null} */
  #frame = null;
  /** @type {Filter} */
  #filter = "all";
  #planning = false;

  /** Whatever changes a count of the current roll changes the list. @param {View} view */
  regard(view) {
    return [view.link, view.state?.job, view.state?.roll_id, view.tally, Object.keys(view.state?.rolls ?? {}).length, handsFree(view), mayWork(view)];
  }

  /** @param {View} view */
  draw(view) {
    if (view.link !== "on" || !view.state) return this.replaceChildren();
    if (!view.state.job) return this.fill(html`<section class="card"><h2>The job</h2>${jobForm(() => this.#load())}</section>`);
    return void this.#load();
  }

  async #load() {
    try {
      this.#lines = await get(`/api/rolls?limit=${PAGE}`);
      this.#more = this.#lines.length === PAGE;
      if (this.#open) this.#open = await whole(this.#open.roll.roll_id);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return store.refuse(error.refusal);
    }
    // A list that changes must not take away what somebody is writing.
    if (!this.#planning || !this.contains(document.activeElement)) this.#show();
    return undefined;
  }

  #show() {
    const view = store.view;
    const shown = this.#lines.filter((line) => wanted(line, this.#filter));
    this.fill(html`<section class="card">
        <div class="head"><h2>${view.state?.job?.title ?? ""}</h2>${this.#planButton(view)}</div>
        ${this.#planning ? planForm(() => this.#planned(), () => this.#plan(false)) : null}
        <div class="row" role="group" aria-label="Show">${FILTERS.map(([filter, words]) => this.#filterButton(filter, words))}</div>
        <ol class="rows">${shown.map((line) => this.#line(line))}</ol>
        ${shown.length ? null : html`<p class="dim">${this.#lines.length ? "None of the rolls is like that." : "No roll has been planned yet."}</p>`}
        ${this.#more ? html`<button data-key="more" on-click=${() => void this.#further()}>Show more</button>` : null}
      </section>
      ${this.#open ? oneRoll(this.#open, { view, frame: this.#frame, choose: this.#choose, changed: () => void this.#load() })
        : html`<section class="card"><p class="dim">Choose a roll to look at its frames.</p></section>`}`);
  }

  /** @param {View} view */
  #planButton(view) {
    if (!mayWork(view) || this.#planning) return null;
    return html`<button data-key="plan" class=${this.#lines.length ? "" : "main"} on-click=${() => this.#plan(true)}>New roll</button>`;
  }

  /** @param {Filter} filter @param {string} words */
  #filterButton(filter, words) {
    const choose = () => {
      this.#filter = filter;
      this.#show();
    };
    return html`<button data-key=${`show-${filter}`} aria-pressed=${String(filter === this.#filter)} on-click=${choose}>${words}</button>`;
  }

  /** @param {Line} line */
  #line(line) {
    const { roll, current } = line;
    const open = this.#open?.roll.roll_id === roll.roll_id;
    const look = async () => {
      this.#frame = null;
      this.#open = open ? null : await whole(roll.roll_id);
      this.#show();
    };
    return html`<li class=${current ? "current" : ""}><div><p>${roll.label}${current ? html`<span class="dim">, in hand</span>` : null}</p>
      <p class="dim">${outlook(line)}</p></div>
      <button data-key=${roll.roll_id} aria-expanded=${String(open)} aria-label=${`Look at ${roll.label}`} on-click=${look}>Look</button></li>`;
  }

  async #further() {
    const after = this.#lines.at(-1)?.place ?? 0;
    const next = /** @type {Line[]} */ (await get(`/api/rolls?limit=${PAGE}&after=${after}`));
    this.#lines = [...this.#lines, ...next];
    this.#more = next.length === PAGE;
    this.#show();
  }

  /** @param {boolean} planning */
  #plan(planning) {
    this.#planning = planning;
    this.#show();
    if (planning) /** @type {HTMLElement | null} */ (this.querySelector("form input"))?.focus();
  }

  #planned() {
    this.#planning = false;
    void this.#load();
  }

  /** @param {string | null} frame */
  #choose = (frame) => {
    this.#frame = frame;
    this.#show();
  };
}

/** One roll with all that belongs to it. @param {string} rollId @returns {Promise<RollState>} */
function whole(rollId) {
  return get(`/api/rolls/${encodeURIComponent(rollId)}/whole`);
}
