// The strip: how it lies, and the next one, where it lies otherwise than the one before. In its place, no dialog.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { oneOf, text, typed, wholeNumber } from "../forms/fields.js";
import { command } from "../net/command.js";
import { currentRoll } from "../state/copies.js";
import { handsFree } from "../state/people.js";
import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").Strip} Strip */

/** @type {[string, string][]} */
const SIDES = [["down", "down"], ["up", "up, towards the lens"]];

export class StripPart extends Part {
  #open = false;

  /** @param {View} view */
  regard(view) {
    const roll = view.state && currentRoll(view.state);
    return [roll?.strips, roll?.closed, roll?.roll.strip_places, handsFree(view)];
  }

  /** @param {View} view */
  draw(view) {
    const roll = view.state && currentRoll(view.state);
    if (!roll || roll.closed) return this.replaceChildren();
    const before = Object.values(roll.strips).sort((a, b) => b.number - a.number)[0] ?? null;
    const toggle = () => this.#toggle();
    return this.fill(html`<div class="lies"><p>${lieWords(before)}</p>
      <button data-key="strip" aria-expanded=${String(this.#open)} disabled=${!handsFree(view)} on-click=${toggle}>New strip</button></div>
      ${this.#open ? this.#form(before, roll.roll.strip_places) : null}`);
  }

  #toggle() {
    this.#open = !this.#open;
    this.draw(store.view);
    if (this.#open) this.querySelector("input")?.focus();
  }

  /** @param {Strip | null} before @param {number | null} usual */
  #form(before, usual) {
    return html`<form on-submit=${this.#submit}>
      ${text("places", "Places on it", { value: String(before?.places ?? usual ?? ""), number: true, hint: "empty if not known" })}
      ${oneOf("emulsion", "Emulsion side", SIDES, before?.emulsion ?? "down")}
      ${oneOf("turn", "Lies", [["0", "upright"], ["180", "turned by half"]], String(before?.turn ?? 0))}
      <button class="main">It lies in the gate</button>
    </form>`;
  }

  /** @param {SubmitEvent} event */
  #submit = async (event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.target);
    const done = await command("/api/strips", {
      places: wholeNumber(form, "places"), emulsion: typed(form, "emulsion"), turn: Number(typed(form, "turn")),
    });
    if (!done) return;
    this.#open = false;
    this.draw(store.view);
  };
}

/** @param {Strip | null} strip */
function lieWords(strip) {
  if (!strip) return "No strip yet: the first lies emulsion down, upright, if nobody says otherwise.";
  const places = strip.places === null ? "" : `, ${strip.places} places`;
  const lies = `emulsion ${strip.emulsion}, ${strip.turn ? "turned by half" : "upright"}`;
  return `Strip ${strip.number}${places}: ${lies}${strip.assumed ? ", as the one before" : ""}.`;
}
