// What is connected, what is missing, what to do about it; and the open gate, which is measured before the first frame.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { Problem, get } from "../net/api.js";
import { command } from "../net/command.js";
import { handsFree } from "../state/people.js";
import { store } from "../state/store.js";
import { gauges } from "../gauges/gauges.js";
import { card } from "./card.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {{what: string, state: "ok" | "attend" | "unknown" | "missing", detail: string, remedy: string}} Line */

const WORDS = { ok: "in order", attend: "look at it", unknown: "not known", missing: "missing" };

export class LookOver extends Part {
  /** @type {Line[] | null} */
  #lines = null;
  #asking = false;

  /** @param {View} view */
  regard(view) {
    return [view.vitals, view.state?.lamp, view.moment.step, handsFree(view), this.#asking];
  }

  /** @param {View} view */
  draw(view) {
    const look = () => void this.#look();
    const rows = this.#lines ?? gauges(view).map(([what, detail, bad]) => ({ what, detail, state: bad ? "attend" : "", remedy: "" }));
    this.fill(card("What is there", html`
      <ul class="rows found">${rows.map(row)}</ul>
      <div class="row"><button data-key="look" disabled=${this.#asking || view.link !== "on"} on-click=${look}>
        ${this.#asking ? "Asking the camera" : "Look at all of it"}</button></div>
      ${openGate(view)}
      <p class="dim">Whether the rig is square, sharp, evenly lit and dark around is not checked here yet: look closely at
        the corners of a first take under Run.</p>`));
  }

  async #look() {
    this.#asking = true;
    this.draw(store.view);
    try {
      this.#lines = (await get("/api/check")).lines;
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      store.refuse(error.refusal);
    }
    this.#asking = false;
    this.draw(store.view);
  }
}

/** @param {{what: string, state: string, detail: string, remedy: string}} line */
function row({ what, state, detail, remedy }) {
  const word = WORDS[/** @type {Line["state"]} */ (state)] ?? "";
  return html`<li class=${state}><div><p>${what}</p><p class="dim">${detail}</p>${remedy && html`<p>${remedy}</p>`}</div>
    ${word && html`<span class="state">${word}</span>`}</li>`;
}

/** @param {View} view */
function openGate(view) {
  const level = /** @type {{level_1s: number[]} | null} */ (view.state?.lamp ?? null);
  const words = level
    ? `The bare lamp was measured: ${level.level_1s.map((stops) => stops.toFixed(1)).join(", ")} stops over full in R, G, B for 1 s.`
    : "The bare lamp has not been measured. Take the film out of the gate, then:";
  const measure = () => command("/api/gate");
  return html`<div class="gate-card"><p>${words}</p>
    <button data-key="gate" disabled=${!handsFree(view)} on-click=${measure}>${level ? "Measure it again" : "Measure the open gate"}</button></div>`;
}
