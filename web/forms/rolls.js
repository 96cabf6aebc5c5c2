// The job's rolls: the ones that are planned, to open; and a new one to plan. The job's own name first.

import { html } from "../base/html.js";
import { get } from "../net/api.js";
import { command } from "../net/command.js";
import { store } from "../state/store.js";
import { oneOf, pick, text, typed, wholeNumber } from "./fields.js";

const FORMATS = [
  "135", "135-half", "135-24x65", "120-6x4.5", "120-6x6", "120-6x7", "120-6x8", "120-6x9", "120-6x12", "120-6x17",
  "mount", "sheet-4x5",
];

/** @typedef {import("../state/types.js").Roll} Roll */
/** @typedef {import("../state/types.js").Tally} Tally */
/** @typedef {{roll: Roll, tally: Tally, closed: boolean, current: boolean}} Line */

export class RollsForm {
  title = "Rolls";
  body = document.createElement("div");
  /** @type {() => void} */
  #close;

  /** @param {() => void} close */
  constructor(close) {
    this.#close = close;
  }

  async fill() {
    if (store.view.state?.job) await this.#rolls();
    else this.body.replaceChildren(this.#job());
  }

  async #rolls() {
    const lines = /** @type {Line[]} */ (await get("/api/rolls"));
    this.body.replaceChildren(html`<ol class="rolls">${lines.map((line) => this.#line(line))}</ol>${this.#plan()}`);
  }

  #job() {
    const submit = (/** @type {SubmitEvent} */ event) => {
      event.preventDefault();
      const form = /** @type {HTMLFormElement} */ (event.target);
      const job = { title: typed(form, "title"), default_base: typed(form, "base") };
      void this.#send("/api/job", job, () => this.#rolls());
    };
    return html`<form on-submit=${submit}>
      ${text("title", "What is being digitised, and for whom", { required: true })}
      ${oneOf("base", "Film base", [["safety", "safety"], ["nitrate", "nitrate"], ["unknown", "not known"]], "unknown")}
      <button class="main">Open the job</button>
    </form>`;
  }

  /** @param {Line} line */
  #line({ roll, tally, closed, current }) {
    const done = tally.pictures + tally.unexposed + tally.fogged;
    const of = tally.expected ? ` of ${tally.expected}` : "";
    const words = `${roll.film_format}, ${done}${of} frames${closed ? ", done" : ""}`;
    const open = () => void this.#send(path(roll, "open"), {}, this.#close);
    const shut = () => void this.#send(path(roll, "close"), {}, () => this.#rolls());
    const button = current && !closed
      ? html`<button on-click=${shut}>Done with it</button>`
      : html`<button on-click=${open}>Open</button>`;
    return html`<li><div><p>${roll.label}</p><p class="dim">${words}</p></div>${button}</li>`;
  }

  #plan() {
    const submit = (/** @type {SubmitEvent} */ event) => {
      event.preventDefault();
      void this.#send("/api/rolls", plan(/** @type {HTMLFormElement} */ (event.target)), (roll) =>
        this.#send(path(roll, "open"), {}, this.#close));
    };
    return html`<form on-submit=${submit}><h2>New roll</h2>
      ${text("label", "Name, as written on its sleeve or box", { required: true })}
      <div class="two">${pick("film_format", "Format", FORMATS, "135")}${text("where", "Where it lies")}</div>
      ${oneOf("tone", "Film", [["negative", "negative"], ["positive", "positive"]], "negative")}
      ${oneOf("colour", "Colour", [["mono", "black and white"], ["colour", "colour"]], "mono")}
      <div class="two">
        ${text("fewest", "Frames", { number: true, hint: "fewest, if known" })}
        ${text("most", "Frames", { number: true, hint: "most, if it may be more" })}
      </div>
      ${text("strip_places", "Frames to a strip", { number: true, hint: "as it is cut, if it is" })}
      <button class="main">Plan and open it</button>
    </form>`;
  }

  /** @param {string} address @param {object} body @param {(answer: any) => unknown} then */
  async #send(address, body, then) {
    const answer = await command(address, body);
    if (answer) await then(answer);
    else this.#close(); // what was refused stands on the page under it
  }
}

/** @param {Roll} roll @param {"open" | "close"} verb */
function path(roll, verb) {
  return `/api/rolls/${encodeURIComponent(roll.roll_id)}/${verb}`;
}

/** @param {HTMLFormElement} form */
function plan(form) {
  const fewest = wholeNumber(form, "fewest");
  return {
    label: typed(form, "label"), film_format: typed(form, "film_format"), tone: typed(form, "tone"),
    colour: typed(form, "colour"), where: typed(form, "where"), strip_places: wholeNumber(form, "strip_places"),
    expected: fewest === null ? null : [fewest, wholeNumber(form, "most") ?? fewest],
  };
}
