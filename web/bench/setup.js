// The set-up as it stands: holder, lens, aperture, lamp. A change of it makes what was measured on the old one stale.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { text, typed } from "../forms/fields.js";
import { command } from "../net/command.js";
import { mayWork } from "../state/people.js";
import { card } from "./card.js";

/** @typedef {import("../state/store.js").View} View */

export class SetupCard extends Part {
  /** @param {View} view */
  regard(view) {
    return [view.state?.setup, mayWork(view)];
  }

  /** @param {View} view */
  draw(view) {
    const now = view.state?.setup ?? null;
    const off = !mayWork(view);
    this.fill(card("Set-up", html`<form on-submit=${save}>
      ${text("holder", "Film holder", { value: now?.holder ?? "" })}
      <div class="two">${text("lens", "Lens", { value: now?.lens ?? "" })}${text("lamp", "Lamp", { value: now?.lamp ?? "" })}</div>
      <div class="two">
        ${text("f_number", "Aperture, f/", { value: String(now?.f_number ?? 8), decimal: true, required: true })}
        ${text("iso", "ISO", { value: String(now?.iso ?? 100), number: true, required: true })}
        ${text("delay_s", "Rest before each take, s", { value: String(now?.delay_s ?? 0.5), decimal: true, required: true })}
      </div>
      <button class="main" disabled=${off}>${now ? "This is how it stands now" : "Describe it"}</button>
      <p class="dim">Describe it anew whenever the holder, the lens or the lamp was touched: the bare lamp is measured again then.</p>
    </form>`));
  }
}

/** @param {SubmitEvent} event */
function save(event) {
  event.preventDefault();
  const form = /** @type {HTMLFormElement} */ (event.target);
  const number = (/** @type {string} */ name) => Number(typed(form, name).replace(",", "."));
  void command("/api/setup", {
    holder: typed(form, "holder"), lens: typed(form, "lens"), lamp: typed(form, "lamp"),
    f_number: number("f_number"), iso: number("iso"), delay_s: number("delay_s"),
  });
}
