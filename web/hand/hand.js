// What can be done by hand to one frame: the chosen one, else the one in hand. And to the film: a new strip, a pass.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { openForm } from "../forms/open.js";
import { nonce } from "../net/api.js";
import { command } from "../net/command.js";
import { currentRoll } from "../state/copies.js";
import { frameInHand, frameWords } from "../state/frames.js";
import { nextPlace, target } from "../state/situation.js";
import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").FrameState} FrameState */

export class Hand extends Part {
  /** @param {View} view */
  regard(view) {
    const { state, chosen, link } = view;
    return [state?.roll_id, frameInHand(view), nextPlace(view), target(view), chosen, link, !state?.lamp];
  }

  /** @param {View} view */
  draw(view) {
    const state = view.state;
    const roll = state && currentRoll(state);
    if (!state || !roll || view.link !== "on") return this.replaceChildren();
    const frame = frameInHand(view);
    return this.fill(html`
      ${state.lamp ? null : this.#gate()}
      ${frame ? this.#frame(frameWords(state, frame.frame.frame_id), frame) : null}
      <div class="row">
        <button data-key="strip" on-click=${() => openForm("strip")}>New strip</button>
        <button data-key="skip" disabled=${roll.closed} on-click=${pass}>${passWords(view)}</button>
      </div>`);
  }

  #gate() {
    const measure = () => command("/api/gate");
    return html`<p class="dim">The bare lamp has not been measured. Take the film out, then:</p>
      <div class="row"><button data-key="gate" on-click=${measure}>Measure the open gate</button></div>`;
  }

  /** @param {string} name @param {FrameState} frame */
  #frame(name, frame) {
    const frame_id = frame.frame.frame_id;
    const mark = (/** @type {string | null} */ film) => () => command("/api/mark", { frame_id, film });
    const retake = () => command("/api/retake", { frame_id, nonce: nonce() });
    return html`<h2>${name}</h2><div class="row">
      <button data-key="retake" on-click=${retake}>Take again</button>
      ${frame.film === "unexposed"
        ? html`<button data-key="mark" on-click=${mark(frame.keeper.length ? "picture" : null)}>Not unexposed</button>`
        : html`<button data-key="mark" on-click=${mark("unexposed")}>Unexposed</button>`}
      ${frame.film === "fogged" ? null : html`<button data-key="fogged" on-click=${mark("fogged")}>Fogged</button>`}
    </div>`;
  }
}

function pass() {
  return command("/api/skip", { target: target(store.view) });
}

/** @param {View} view */
function passWords(view) {
  const next = nextPlace(view);
  return next ? `Pass over place ${next.place}` : "Pass over";
}
