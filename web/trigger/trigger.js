// The big trigger: a click, Space or Enter. Says which frame it would take, and whether keys are heard. Where somebody
// else works the rig, the same place takes control, and nothing else. Beside it: arming, so that film is taken by itself.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { takeControl } from "../hold/hold.js";
import { nonce } from "../net/api.js";
import { command } from "../net/command.js";
import { mayWork, otherHand } from "../state/people.js";
import { nextPlace, situation, target } from "../state/situation.js";
import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */

const KEYS = new Set([" ", "Enter"]);
// Keys that belong to what has the focus: fields take text, buttons and links take Space and Enter themselves.
const TAKES_KEYS = "input, select, textarea, button, a, summary, dialog, [contenteditable]";

export class Trigger extends Part {
  begin() {
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
    return [target(view), nextPlace(view), situation(view).mood, view.link, view.state?.armed, otherHand(view), mayWork(view)];
  }

  /** @param {View} view */
  draw(view) {
    this.dataset.mood = situation(view).mood;
    if (!mayWork(view)) return this.replaceChildren();
    const other = otherHand(view);
    this.fill(html`${other ? taking(other, view) : this.#pressing(view)}${arming(view, other !== null)}`);
    return this.#heard();
  }

  /** @param {View} view */
  #pressing(view) {
    const next = nextPlace(view);
    const { mood } = situation(view);
    return html`<button class="press" data-key="press" disabled=${!next || view.link !== "on"} on-click=${() => this.#press()}>
      <span class="what">${words(next, mood === "still" || mood === "wait")}</span><span class="keys"></span></button>`;
  }

  #press() {
    const meant = target(store.view);
    if (meant) void command("/api/trigger", { nonce: nonce(), target: meant });
  }

  /** @param {KeyboardEvent} event */
  #key = (event) => {
    if (!KEYS.has(event.key) || event.ctrlKey || event.altKey || event.metaKey) return;
    const at = /** @type {Element} */ (event.target);
    if (at.closest(TAKES_KEYS) && !at.closest(".press")) return;
    event.preventDefault();
    if (!event.repeat && this.querySelector(".press")) this.#press();
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

/** @param {string} other @param {View} view */
function taking(other, view) {
  return html`<button class="over" data-key="over" disabled=${view.link !== "on"} on-click=${takeControl}>
    <span class="what">Take control</span><span class="who">${other} has it now</span></button>`;
}

/** @param {View} view @param {boolean} other somebody else works the rig */
function arming(view, other) {
  const armed = view.state?.armed ?? false;
  const change = () => command(armed ? "/api/disarm" : "/api/arm");
  return html`<button class="arm" data-key="arm" aria-pressed=${String(armed)} on-click=${change}
    disabled=${view.link !== "on" || (!armed && (other || !nextPlace(view)))}
    title=${armed ? "Frames are taken without a press" : "Take frames without a press"}>${armed ? "Armed" : "Arm"}</button>`;
}

/** @param {ReturnType<typeof nextPlace>} next @param {boolean} working */
function words(next, working) {
  if (!next) return "Nothing to take";
  const where = `strip ${next.strip}, place ${next.place}`;
  return working ? `Taking ${where}` : `Take ${where}${next.again ? " again" : ""}`;
}
