// The forms: rolls (with the job's name first, while there is none) and the strip. One is open at a time.

import { html } from "../base/html.js";
import { RollsForm } from "./rolls.js";
import { StripForm } from "./strip.js";

export class Forms extends HTMLElement {
  #dialog = document.createElement("dialog");

  connectedCallback() {
    this.replaceChildren(this.#dialog);
    document.addEventListener("rigd-form", this.#open);
  }

  disconnectedCallback() {
    document.removeEventListener("rigd-form", this.#open);
  }

  /** @param {Event} event */
  #open = async (event) => {
    const { detail } = /** @type {CustomEvent<import("./open.js").FormName>} */ (event);
    const close = () => this.#dialog.close();
    const form = detail === "rolls" ? new RollsForm(close) : new StripForm(close);
    this.#dialog.setAttribute("aria-label", form.title);
    this.#dialog.replaceChildren(
      html`<header><h2>${form.title}</h2><button data-key="close" on-click=${close}>Close</button></header>`,
      form.body,
    );
    await form.fill();
    this.#dialog.showModal();
  };
}
