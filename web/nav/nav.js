// From view to view: plain links, so that the browser's own way back works too.

import { html } from "../base/html.js";
import { PLACES, here } from "./places.js";

export class Nav extends HTMLElement {
  connectedCallback() {
    window.addEventListener("hashchange", this.#draw);
    this.#draw();
  }

  disconnectedCallback() {
    window.removeEventListener("hashchange", this.#draw);
  }

  #draw = () => {
    const now = here();
    const links = PLACES.map(([place, word]) => html`<li><a href=${`#${place}`}
      aria-current=${place === now ? "page" : false}>${word}</a></li>`);
    this.replaceChildren(html`<nav aria-label="Views"><ul>${links}</ul></nav>`);
  };
}
