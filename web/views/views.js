// The one view that is shown: what is not shown is not there, draws nothing and hears no key.

import { html } from "../base/html.js";
import { here } from "../nav/places.js";

/** @type {Record<import("../nav/places.js").Place, () => DocumentFragment>} */
const VIEWS = {
  run: () => html`<h2 class="unseen">Run</h2>
    <div class="run">
      <section class="see" aria-label="Pictures"><rigd-live></rigd-live><rigd-last></rigd-last></section>
      <section class="weigh" aria-label="Exposure"><rigd-shutter></rigd-shutter><rigd-levels></rigd-levels>
        <rigd-gauges></rigd-gauges><rigd-takes></rigd-takes></section>
      <section class="count" aria-label="Roll"><rigd-roll></rigd-roll><rigd-account></rigd-account><rigd-sleeve></rigd-sleeve>
        <rigd-strip></rigd-strip><rigd-errand></rigd-errand></section>
    </div>
    <footer><rigd-hand></rigd-hand><rigd-trigger></rigd-trigger></footer>`,
  bench: () => html`<h2 class="unseen">Bench</h2>
    <div class="sheet bench"><rigd-look-over></rigd-look-over><rigd-setup></rigd-setup><rigd-screen></rigd-screen>
      <rigd-people></rigd-people></div>`,
  rolls: () => html`<h2 class="unseen">Rolls</h2><rigd-rolls class="sheet"></rigd-rolls>`,
  handover: () => html`<h2 class="unseen">Handover</h2><rigd-handover class="sheet"></rigd-handover>`,
};

export class Views extends HTMLElement {
  connectedCallback() {
    window.addEventListener("hashchange", this.#moved);
    this.#show();
  }

  disconnectedCallback() {
    window.removeEventListener("hashchange", this.#moved);
  }

  #moved = () => {
    this.#show();
    // Whoever went there by keyboard or by voice goes on from the top of the view.
    const main = /** @type {HTMLElement | null} */ (this.closest("main"));
    main?.focus({ preventScroll: true });
    window.scrollTo(0, 0);
  };

  #show() {
    const place = here();
    document.documentElement.dataset.view = place;
    this.replaceChildren(VIEWS[place]());
  }
}
