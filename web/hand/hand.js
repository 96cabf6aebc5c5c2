// What a thumb does to one frame: the chosen one, else the one in hand. And what stops it all.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { nonce } from "../net/api.js";
import { command } from "../net/command.js";
import { currentRoll } from "../state/copies.js";
import { frameInHand, frameWords } from "../state/frames.js";
import { handsFree, mayWork } from "../state/people.js";
import { nextPlace, target } from "../state/situation.js";
import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("../state/types.js").FrameState} FrameState */

export class Hand extends Part {
  /** @param {View} view */
  regard(view) {
    const { state, chosen } = view;
    return [
      state?.roll_id, state?.paused, state?.marked, frameInHand(view), nextPlace(view), target(view), chosen,
      handsFree(view), mayWork(view), view.link, lastMarks(view),
    ];
  }

  /** @param {View} view */
  draw(view) {
    const state = view.state;
    const roll = state && currentRoll(state);
    if (!state || !roll || !mayWork(view)) return this.replaceChildren();
    const frame = frameInHand(view);
    const name = frame ? frameWords(state, frame.frame.frame_id) : "No frame yet";
    return this.fill(html`<p class="whose">${name}${view.chosen ? html`<span class="dim">, chosen</span>` : null}</p>
      <div class="keys">${this.#frame(view, frame)}${this.#way(view)}</div>`);
  }

  /** @param {View} view @param {FrameState | null} frame */
  #frame(view, frame) {
    const off = !frame || !handsFree(view);
    const frame_id = frame?.frame.frame_id ?? "";
    const mark = (/** @type {string} */ film) => () => command("/api/mark", { frame_id, film: after(frame, film) });
    const retake = () => command("/api/retake", { frame_id, nonce: nonce() });
    return html`<button data-key="retake" disabled=${off} on-click=${retake}>Take again</button>
      <button data-key="mark" disabled=${!frame || view.link !== "on"} aria-pressed=${String(frame?.film === "unexposed")}
        on-click=${mark("unexposed")}>Unexposed</button>
      <button data-key="fogged" disabled=${!frame || view.link !== "on"} aria-pressed=${String(frame?.film === "fogged")}
        on-click=${mark("fogged")}>Fogged</button>
      <button data-key="skip" disabled=${!nextPlace(view) || !handsFree(view)} on-click=${pass}
        aria-label=${passWords(view)} title=${passWords(view)}>Pass over</button>`;
  }

  /** @param {View} view */
  #way(view) {
    const paused = view.state?.paused ?? false;
    const linked = view.link === "on";
    const pause = () => command(paused ? "/api/resume" : "/api/pause");
    return html`<button data-key="back" disabled=${!handsFree(view)} on-click=${() => command("/api/back")}
        title="To the frame before">Back</button>
      <button data-key="undo" disabled=${!linked || !lastMarks(view)} on-click=${() => command("/api/undo")}
        title="Take the last mark back">Undo</button>
      <button data-key="pause" disabled=${!linked || (paused && !handsFree(view))} aria-pressed=${String(paused)}
        on-click=${pause}>${paused ? "Resume" : "Pause"}</button>
      <button data-key="stop" class="stop" disabled=${!linked} on-click=${() => command("/api/stop")}>Stop</button>`;
  }
}

/** What pressing a mark says: it, or, where it stands already, what is believed without it.
 * @param {FrameState | null} frame @param {string} film */
function after(frame, film) {
  if (frame?.film !== film) return film;
  return frame.judged === film ? "picture" : null;
}

/** How many marks the frame has that was marked last. @param {View} view */
function lastMarks(view) {
  const state = view.state;
  const roll = state && currentRoll(state);
  return roll?.frames[state?.marked ?? ""]?.marks.length ?? 0;
}

function pass() {
  return command("/api/skip", { target: target(store.view) });
}

/** @param {View} view */
function passWords(view) {
  const next = nextPlace(view);
  return next ? `Pass over strip ${next.strip}, place ${next.place}` : "Pass over";
}
