// Fields of forms, each with its label and, where it needs one, a hint.

import { html } from "../base/html.js";

/** @typedef {{value?: string, required?: boolean, hint?: string, number?: boolean, decimal?: boolean}} TextOptions */

/** A line of text, a whole number, or one with a fraction. @param {string} name @param {string} label
 * @param {TextOptions} options */
export function text(name, label, { value = "", required = false, hint = "", number = false, decimal = false } = {}) {
  const mode = number ? "numeric" : decimal ? "decimal" : "text";
  const pattern = number ? "[0-9]{1,6}" : decimal ? "[0-9]{1,3}([.,][0-9]{1,3})?" : false;
  return html`<label class="field"><span>${label}${hint && html`<small>${hint}</small>`}</span>
    <input name=${name} value=${value} required=${required} autocomplete="off" maxlength="120"
      inputmode=${mode} pattern=${pattern}></label>`;
}

/**
 * One of a few, all in sight.
 * @param {string} name
 * @param {string} label
 * @param {[string, string][]} choices value and words of each
 * @param {string} chosen
 */
export function oneOf(name, label, choices, chosen) {
  return html`<fieldset class="field"><legend>${label}</legend><div class="choices">
    ${choices.map(([value, words]) => html`<label>
      <input type="radio" name=${name} value=${value} checked=${value === chosen}><span>${words}</span></label>`)}
  </div></fieldset>`;
}

/** One of many. @param {string} name @param {string} label @param {string[]} choices @param {string} chosen */
export function pick(name, label, choices, chosen) {
  return html`<label class="field"><span>${label}</span><select name=${name}>
    ${choices.map((c) => html`<option value=${c} selected=${c === chosen}>${c}</option>`)}</select></label>`;
}

/** What was typed, without outer blanks. @param {HTMLFormElement} form @param {string} name @returns {string} */
export function typed(form, name) {
  return String(new FormData(form).get(name) ?? "").trim();
}

/**
 * A whole number, or null where nothing was typed.
 * @param {HTMLFormElement} form
 * @param {string} name
 * @returns {number | null}
 */
export function wholeNumber(form, name) {
  const value = typed(form, name);
  return value ? Number(value) : null;
}
