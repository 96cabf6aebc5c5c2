// A strip goes into the gate: how many places, which side up, which way round. As the one before it, unless changed.

import { html } from "../base/html.js";
import { command } from "../net/command.js";
import { currentRoll } from "../state/copies.js";
import { store } from "../state/store.js";
import { oneOf, text, typed, wholeNumber } from "./fields.js";

/** @type {[string, string][]} */
const SIDES = [["down", "down"], ["up", "up, towards the lens"]];

export class StripForm {
  title = "New strip in the gate";
  body = document.createElement("div");
  /** @type {() => void} */
  #close;

  /** @param {() => void} close */
  constructor(close) {
    this.#close = close;
  }

  fill() {
    const state = store.view.state;
    const roll = state && currentRoll(state);
    const before = Object.values(roll?.strips ?? {}).sort((a, b) => b.number - a.number)[0];
    const places = String(before?.places ?? roll?.roll.strip_places ?? "");
    this.body.replaceChildren(html`<form on-submit=${this.#submit}>
      ${text("places", "Places on it", { value: places, number: true, hint: "empty if not known" })}
      ${oneOf("emulsion", "Emulsion side", SIDES, before?.emulsion ?? "down")}
      ${oneOf("turn", "Lies", [["0", "upright"], ["180", "turned by half"]], String(before?.turn ?? 0))}
      <button class="main">It lies in the gate</button>
    </form>`);
  }

  /** @param {SubmitEvent} event */
  #submit = async (event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.target);
    await command("/api/strips", {
      places: wholeNumber(form, "places"), emulsion: typed(form, "emulsion"), turn: Number(typed(form, "turn")),
    });
    this.#close();
  };
}
