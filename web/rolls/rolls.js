// The job's rolls: what is done, what is missing, and a closer look at one of them.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { Problem, get } from "../net/api.js";
import { handsFree, isHost, mayWork } from "../state/people.js";
import { store } from "../state/store.js";
import { findEverywhere, finder } from "./find.js";
import { jobForm, planForm, tableField } from "./forms.js";
import { KINDS, browse } from "./list.js";
import { oneRoll } from "./one.js";
import { jobWords, outlook } from "./outlook.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").RollState} RollState */
/** @typedef {import("./outlook.js").Line} Line */
/** @typedef {import("./outlook.js").JobCount} JobCount */
/** @typedef {import("./list.js").Kind} Kind */

// By hand a frame takes about 15 s (common practice, as rigd/model/pace.py): until the job's count is here.
const BY_HAND_S = 15;

export class Rolls extends Part {
  /** @type {Line[]} */
  #lines = [];
  #more = false;
  /** @type {JobCount | null} */
  #job = null;
  /** @type {RollState | null} */
  #open = null;
  /** @type {string | null} */
  #frame = null;
  /** @type {import("./kinds.js").Sort} */
  #sort = "all";
  #pixels = false;
  /** @type {Kind} */
  #kind = "";
  #words = "";
  /** @type {import("./find.js").Report | null} */
  #report = null;
  #planning = false;
  /** The roll that was looked at last. */
  #left = "";

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

  /** @param {boolean} mine this page brought the change about: what was written is done with */
  async #load(mine = false) {
    try {
      // As many as are shown already: a list that was paged through does not shrink.
      const found = await browse({ words: this.#words, kind: this.#kind, limit: this.#lines.length });
      [this.#lines, this.#more, this.#job] = [found.rolls, found.more, await get("/api/tally/job")];
      if (this.#open) this.#open = await whole(this.#open.roll.roll_id);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return store.refuse(error.refusal);
    }
    // A list that changes must not take away what somebody is writing.
    if (mine || !this.#writing()) this.#show();
    return undefined;
  }

  #writing() {
    const active = document.activeElement;
    return this.contains(active) && Boolean(active?.closest("form.plan") ?? active?.closest("form.again"));
  }

  #show() {
    const view = store.view;
    this.classList.toggle("looking", this.#open !== null);
    this.fill(html`<section class="card list">
        <div class="head"><h2>${view.state?.job?.title ?? ""}</h2>${this.#planButton(view)}</div>
        <p class="dim">${this.#job ? jobWords(this.#job) : ""}</p>
        ${this.#planning ? html`${planForm(view.state?.job ?? null, () => this.#planned(), () => this.#plan(false))}${tableField(() => this.#planned())}` : null}
        ${finder({ words: this.#words, find: this.#find, everywhere: isHost(view) ? this.#everywhere : null, report: this.#report })}
        <div class="row" role="group" aria-label="Show">${KINDS.map(([kind, words]) => this.#kindButton(kind, words))}</div>
        <ol class="rows">${this.#lines.map((line) => this.#line(line))}</ol>
        ${this.#lines.length ? null : html`<p class="dim">${this.#words || this.#kind ? "None of the rolls is like that." : "No roll has been planned yet."}</p>`}
        ${this.#more ? html`<button data-key="more" on-click=${() => void this.#further()}>Show more</button>` : null}
      </section>
      ${this.#open ? oneRoll(this.#open, {
        view, frame: this.#frame, choose: this.#choose, sort: this.#sort, show: this.#sorted, pixels: this.#pixels,
        closer: this.#closer, changed: () => void this.#load(true), leave: () => void this.#look(null),
        next: this.#next(), pace: this.#job?.left.cadence_s ?? BY_HAND_S,
      }) : html`<section class="card"><p class="dim">Choose a roll to look at its frames.</p></section>`}`);
  }

  /** @param {View} view */
  #planButton(view) {
    if (!mayWork(view) || this.#planning) return null;
    return html`<button data-key="plan" class=${this.#lines.length ? "" : "main"} on-click=${() => this.#plan(true)}>New roll</button>`;
  }

  /** @param {Kind} kind @param {string} words */
  #kindButton(kind, words) {
    const choose = () => {
      this.#kind = kind;
      void this.#load();
    };
    return html`<button data-key=${`show-${kind}`} aria-pressed=${String(kind === this.#kind)} on-click=${choose}>${words}</button>`;
  }

  /** @param {Line} line */
  #line(line) {
    const { roll, current } = line;
    const open = this.#open?.roll.roll_id === roll.roll_id;
    return html`<li class=${current ? "current" : ""}><div><p>${roll.label}${current ? html`<span class="dim">, in hand</span>` : null}</p>
      <p class="dim">${outlook(line)}</p></div>
      <button data-key=${roll.roll_id} aria-expanded=${String(open)} aria-label=${`Look at ${roll.label}`} on-click=${() => void this.#look(open ? null : roll.roll_id)}>Look</button></li>`;
  }

  /** @param {string | null} rollId */
  async #look(rollId) {
    [this.#frame, this.#sort, this.#pixels] = [null, "all", false];
    try {
      this.#open = rollId ? await whole(rollId) : null;
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return store.refuse(error.refusal);
    }
    this.#show();
    // On a narrow screen the roll takes the place of the list, and the button that was pressed is gone.
    if (!this.contains(document.activeElement)) {
      const key = rollId ? "rolls-all" : this.#left;
      /** @type {HTMLElement | null} */ (this.querySelector(`[data-key="${CSS.escape(key)}"]`))?.focus();
    }
    this.#left = rollId ?? "";
    return undefined;
  }

  /** The way to the roll after the one that is looked at, as the list is now; null at its end. */
  #next() {
    const at = this.#lines.findIndex((line) => line.roll.roll_id === this.#open?.roll.roll_id);
    const after = this.#lines[at + 1];
    return after ? () => void this.#look(after.roll.roll_id) : null;
  }

  async #further() {
    const found = await browse({ words: this.#words, kind: this.#kind, after: this.#lines.at(-1)?.place ?? 0 });
    this.#lines = [...this.#lines, ...found.rolls];
    this.#more = found.more;
    this.#show();
  }

  /** @param {string} words */
  #find = (words) => {
    this.#words = words;
    this.#report = null;
    this.#lines = [];
    void this.#load();
  };

  /** @param {string} words */
  #everywhere = async (words) => {
    this.#words = words;
    try {
      this.#report = await findEverywhere(words);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return store.refuse(error.refusal);
    }
    store.refuse(null);
    this.#show();
    return undefined;
  };

  /** @param {boolean} planning */
  #plan(planning) {
    this.#planning = planning;
    this.#show();
    if (planning) /** @type {HTMLElement | null} */ (this.querySelector("form.plan input"))?.focus();
  }

  #planned() {
    this.#planning = false;
    void this.#load(true);
  }

  /** @param {string | null} frame */
  #choose = (frame) => {
    const picked = document.activeElement?.classList.contains("shot") ?? false;
    [this.#frame, this.#pixels] = [frame, this.#pixels && frame !== null];
    this.#show();
    const looked = /** @type {HTMLElement | null} */ (this.querySelector(".looked"));
    looked?.scrollIntoView({ block: "start" });
    if (picked) looked?.focus({ preventScroll: true });
  };

  /** @param {import("./kinds.js").Sort} sort */
  #sorted = (sort) => {
    this.#sort = sort;
    this.#show();
  };

  /** @param {boolean} pixels */
  #closer = (pixels) => {
    this.#pixels = pixels;
    this.#show();
  };
}

/** One roll with all that belongs to it. @param {string} rollId @returns {Promise<RollState>} */
function whole(rollId) {
  return get(`/api/rolls/${encodeURIComponent(rollId)}/whole`);
}
