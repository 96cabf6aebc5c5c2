// What has just ended, a strip, a roll or the job, and whether it comes out even; until somebody has read it.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */

export class AccountCard extends Part {
  /** @param {View} view */
  regard(view) {
    return [view.account];
  }

  /** @param {View} view */
  draw(view) {
    const told = view.account;
    this.setAttribute("role", told ? "status" : "none");
    if (!told) return this.replaceChildren();
    const { of, sentence, even, findings } = told.account;
    this.fill(html`<div class=${even ? "even" : "off"}>
      <p><strong>${of}: ${even ? "comes out even." : "does not come out even."}</strong> ${sentence}</p>
      ${findings.length ? html`<ul>${findings.map((f) => html`<li>${f.what} <span class="dim">${f.remedy}</span></li>`)}</ul>` : null}
      <button data-key="read" on-click=${() => store.accounted(null)}>Understood</button>
    </div>`);
  }
}
