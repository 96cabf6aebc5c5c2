// Where a motor moves the film: stopping it at once, without control and from the views that have no stop of their own;
// lifting the stop; and what a long press of the pedal would do now.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { command } from "../net/command.js";
import { speak } from "../sound/speech.js";

/** @typedef {import("../state/store.js").View} View */

export class Halt extends Part {
  #said = "";

  /** @param {View} view */
  regard(view) {
    return [view.vitals?.board, view.vitals?.board_ok, view.vitals?.offered, view.state?.stopped, view.link];
  }

  /** @param {View} view */
  draw(view) {
    const { board = "", board_ok: there = false, offered = "" } = view.vitals ?? {};
    if (view.link !== "on" || (!board && !offered)) return this.replaceChildren();
    if (offered !== this.#said) speak(offered && `Pedal: ${offered}`);
    this.#said = offered;
    const stopped = view.state?.stopped ?? "";
    return this.fill(html`
      ${offered ? html`<p>Pedal: <strong>${offered}</strong>? A long press does it, a short one goes on.</p>` : null}
      ${stopped ? lifting(stopped) : null}
      ${board && !stopped ? html`<p class="dim bare">${there ? "The advancer can move film." : "The advancer does not answer."}</p>
        <button class="halt bare" data-key="halt" on-click=${() => command("/api/stop")}>Stop the film</button>` : null}`);
  }
}

/** @param {string} by */
function lifting(by) {
  return html`<p class="bad" role="alert"><strong>The film is stopped</strong> (${by}). Look after it before you lift the stop.</p>
    <button data-key="lift" on-click=${() => command("/api/clear-stop")}>Lift the stop</button>`;
}
