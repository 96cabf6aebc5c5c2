// What every component is: an element that looks at the one store and draws itself when what it looks at changes.

import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */

export class Part extends HTMLElement {
  /** @type {(() => void) | null} */
  #leave = null;
  #drawn = "";

  connectedCallback() {
    this.begin();
    this.#leave = store.subscribe((view) => this.#look(view));
  }

  disconnectedCallback() {
    this.#leave?.();
    this.#leave = null;
    this.#drawn = "";
  }

  /** Once, before the first drawing. */
  begin() {}

  /**
   * What the drawing depends on; it is drawn again only when this changes.
   * @param {View} view
   * @returns {unknown}
   */
  regard(view) {
    return [view.state?.seq, view.link, view.vitals, view.moment];
  }

  /**
   * Draw.
   * @param {View} _view
   */
  draw(_view) {}

  /**
   * Replace all that is inside, and give the focus back to the element with the same `data-key`.
   * @param {DocumentFragment} made
   */
  fill(made) {
    const active = document.activeElement;
    const key = active && this.contains(active) ? active.getAttribute("data-key") : null;
    this.replaceChildren(made);
    if (key) /** @type {HTMLElement | null} */ (this.querySelector(`[data-key="${CSS.escape(key)}"]`))?.focus();
  }

  /** @param {View} view */
  #look(view) {
    const now = JSON.stringify(this.regard(view)) ?? "";
    if (now === this.#drawn) return;
    this.#drawn = now;
    this.draw(view);
  }
}
