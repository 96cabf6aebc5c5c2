// This screen alone: its light, how pictures lie, its sounds with a legend that plays them, voice and touch.

import { html } from "../base/html.js";
import { screenPrefs } from "../base/prefs.js";
import { canSpeak } from "../sound/speech.js";
import { shake, tones, tunes } from "../sound/tones.js";
import { oneOf } from "../forms/fields.js";
import { card } from "./card.js";

/** @typedef {import("../base/prefs.js").Prefs} Prefs */

export class ScreenCard extends HTMLElement {
  async connectedCallback() {
    this.replaceChildren(card("This screen", html`<form on-change=${this.#changed} on-submit=${stay}>
      ${choices()}${sounds()}<ul class="rows legend" aria-label="Sounds, to try"></ul>
    </form>`));
    const all = Object.entries(await tunes);
    this.querySelector(".legend")?.replaceChildren(...all.map(([, tune]) => legend(tune)));
  }

  /** @param {Event} event */
  #changed = (event) => {
    const at = /** @type {HTMLInputElement} */ (event.target);
    const value = at.type === "checkbox" ? at.checked : at.type === "range" ? Number(at.value) : at.value;
    screenPrefs.set(/** @type {Partial<Prefs>} */ ({ [at.name]: meant(at.name, value) }));
    if (at.name === "volume") void tunes.then((known) => tones.sing(known.safe.notes));
  };
}

/** @param {string} name @param {string | number | boolean} value */
function meant(name, value) {
  if (name === "mount") return Number(value);
  return name === "reads" ? value === "reads" : value;
}

function choices() {
  const { look, pictures, mount, reads } = screenPrefs.now;
  return [
    oneOf("look", "Light", [["dark", "dark room"], ["light", "office"]], look),
    oneOf("pictures", "Pictures", [["dim", "dimmed"], ["full", "full light"], ["hidden", "hidden"]], pictures),
    oneOf("reads", "Show the film", [["reads", "so that it reads"], ["lies", "as it lies"]], reads ? "reads" : "lies"),
    oneOf("mount", "Turn pictures clockwise", [["0", "not at all"], ["90", "90°"], ["180", "180°"], ["270", "270°"]], String(mount)),
  ];
}

function sounds() {
  const { volume, extras, speech, buzz } = screenPrefs.now;
  return [
    html`<label class="field"><span>Volume</span>
      <input type="range" name="volume" min="0" max="1" step="0.05" value=${volume}></label>`,
    html`<fieldset class="field"><legend>Also</legend><div class="choices">
      ${box("extras", "the sounds that are not marked", extras, true)}
      ${box("speech", "say it in words", speech, canSpeak)}
      ${box("buzz", "vibrate", buzz, typeof navigator.vibrate === "function")}</div></fieldset>`,
  ];
}

/** @param {string} name @param {string} words @param {boolean} on @param {boolean} can this browser is able to */
function box(name, words, on, can) {
  return html`<label><input type="checkbox" name=${name} checked=${on && can} disabled=${!can}>
    <span>${can ? words : `${words}: not on this device`}</span></label>`;
}

/** @param {import("../sound/tones.js").Tune} tune */
function legend(tune) {
  const play = async () => {
    await tones.wake();
    tones.sing(tune.notes);
    if (screenPrefs.now.buzz) shake(tune.buzz);
  };
  return html`<li><div><p>${tune.says}</p>${tune.needed ? html`<p class="dim">needed: only muting silences it</p>` : null}</div>
    <button type="button" aria-label=${`Play: ${tune.says}`} on-click=${play}>Play</button></li>`;
}

/** @param {SubmitEvent} event */
function stay(event) {
  event.preventDefault();
}
