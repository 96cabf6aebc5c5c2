// Looking for rolls by words: in this job.

import { html } from "../base/html.js";
import { text, typed } from "../forms/fields.js";

/** @typedef {{words: string, find: (words: string) => void}} Finder */

/** @param {Finder} finder */
export function finder({ words, find }) {
  const submit = (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    find(typed(/** @type {HTMLFormElement} */ (event.target), "words"));
  };
  return html`<form class="find" role="search" on-submit=${submit}>
    ${text("words", "Find rolls", { value: words, hint: "name, place, date, shelf" })}<button data-key="find">Find</button>
    ${words ? html`<button type="button" data-key="find-none" on-click=${() => find("")}>All again</button>` : null}</form>`;
}
