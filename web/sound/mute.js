// Sound on and off, within reach in every view. The first tap lets it begin.

import { html } from "../base/html.js";
import { screenPrefs } from "../base/prefs.js";
import { tones } from "./tones.js";

export class Mute extends HTMLElement {
  /** @type {(() => void)[]} */
  #leave = [];

  connectedCallback() {
    this.#leave = [tones.subscribe(this.#draw), screenPrefs.subscribe(this.#draw)];
    this.#draw();
  }

  disconnectedCallback() {
    this.#leave.forEach((leave) => leave());
  }

  #draw = () => {
    const { muted } = screenPrefs.now;
    const words = muted ? "Sound off" : tones.allowed ? "Sound on" : "Tap for sound";
    const focused = this.contains(document.activeElement);
    this.replaceChildren(html`<button aria-label=${words} title=${words} data-state=${muted ? "off" : tones.allowed ? "on" : "asleep"}
      on-click=${this.#tap}><svg viewBox="0 0 48 40" aria-hidden="true">
      <path class="box" d="M6 14h9l11 -9v30l-11 -9h-9z" /><path class="wave" d="M32 13q6 7 0 14M37 8q11 12 0 24" />
      <path class="cross" d="M33 14l12 12M45 14l-12 12" /></svg></button>`);
    if (focused) this.querySelector("button")?.focus();
  };

  /** The first tap lets sound begin; the ones after it switch it off and on. */
  #tap = async () => {
    const { muted } = screenPrefs.now;
    const first = !tones.allowed && !muted;
    await tones.wake();
    if (!first) screenPrefs.set({ muted: !muted });
    await tones.play("safe");
  };
}
