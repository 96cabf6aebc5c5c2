// The big trigger: a click, Space or Enter. Says which frame it would take, and whether keys are heard.
// Beside it: pause and sound.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { nonce } from "../net/api.js";
import { command } from "../net/command.js";
import { nextPlace, situation, target } from "../state/situation.js";
import { store } from "../state/store.js";
import { tones } from "../sound/tones.js";

/** @typedef {import("../state/store.js").View} View */

const KEYS = new Set([" ", "Enter"]);
// Keys that belong to what has the focus: fields take text, buttons and links take Space and Enter themselves.
const TAKES_KEYS = "input, select, textarea, button, a, summary, dialog, [contenteditable]";

export class Trigger extends Part {
  begin() {
    tones.onchange = () => this.draw(store.view);
    document.addEventListener("keydown", this.#key);
    for (const type of ["focus", "blur"]) window.addEventListener(type, this.#heard);
    for (const type of ["focusin", "focusout"]) document.addEventListener(type, this.#heard);
  }

  disconnectedCallback() {
    super.disconnectedCallback();
    document.removeEventListener("keydown", this.#key);
    for (const type of ["focus", "blur"]) window.removeEventListener(type, this.#heard);
    for (const type of ["focusin", "focusout"]) document.removeEventListener(type, this.#heard);
  }

  /** @param {View} view */
  regard(view) {
    return [target(view), nextPlace(view), situation(view).mood, view.link, view.state?.paused];
  }

  /** @param {View} view */
  draw(view) {
    const next = nextPlace(view);
    const { mood } = situation(view);
    this.dataset.mood = mood;
    const paused = view.state?.paused ?? false;
    const pause = () => command(paused ? "/api/resume" : "/api/pause");
    const away = view.link !== "on";
    this.fill(html`
      <button class="press" data-key="press" disabled=${!next || away} on-click=${() => this.#press()}>
        <span class="what">${words(next, mood === "still" || mood === "wait")}</span>
        <span class="keys"></span>
      </button>
      <div class="side">
        <button data-key="pause" disabled=${away} on-click=${pause}>${paused ? "Resume" : "Pause"}</button>
        <button data-key="sound" aria-pressed=${String(!tones.muted)} on-click=${this.#sound}>${soundWords()}</button>
      </div>`);
    this.#heard();
  }

  #press() {
    const meant = target(store.view);
    if (meant) void command("/api/trigger", { nonce: nonce(), target: meant });
  }

  /** The first tap lets sound begin; the ones after it switch it off and on. */
  #sound = () => {
    if (tones.allowed || tones.muted) tones.mute(!tones.muted);
    tones.play("safe");
  };

  /** @param {KeyboardEvent} event */
  #key = (event) => {
    if (!KEYS.has(event.key) || event.ctrlKey || event.altKey || event.metaKey) return;
    const at = /** @type {Element} */ (event.target);
    if (at.closest(TAKES_KEYS) && !at.closest(".press")) return;
    event.preventDefault();
    if (!event.repeat) this.#press();
  };

  #heard = () => {
    const hint = this.querySelector(".keys");
    if (!hint) return;
    const busy = document.activeElement?.closest(TAKES_KEYS);
    const heard = document.hasFocus() && (!busy || busy.closest(".press") !== null);
    const idle = this.querySelector(".press")?.hasAttribute("disabled");
    hint.textContent = idle ? "" : heard ? "Space or Enter" : "keys are not heard here: click to press";
    this.classList.toggle("deaf", !heard);
  };
}

function soundWords() {
  if (tones.muted) return "Sound off";
  return tones.allowed ? "Sound on" : "Tap for sound";
}

/** @param {ReturnType<typeof nextPlace>} next @param {boolean} working */
function words(next, working) {
  if (!next) return "Nothing to take";
  const where = `strip ${next.strip}, place ${next.place}`;
  return working ? `Taking ${where}` : `Take ${where}${next.again ? " again" : ""}`;
}
