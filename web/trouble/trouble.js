// What went wrong, why, and what to do now; and a command that was refused, until the next one.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { command } from "../net/command.js";
import { target } from "../state/situation.js";
import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */

export class TroubleBox extends Part {
  /** @param {View} view */
  regard(view) {
    return [view.state?.trouble, view.refusal, view.state?.unclaimed];
  }

  /** @param {View} view */
  draw(view) {
    const { refusal } = view;
    const trouble = view.state?.trouble;
    this.setAttribute("role", trouble || refusal ? "alert" : "none");
    this.fill(html`${trouble && this.#trouble(trouble)}${refusal && this.#refusal(refusal)}`);
  }

  /** @param {import("../state/types.js").Trouble} trouble */
  #trouble(trouble) {
    const words = lines(trouble);
    const paragraphs = words.map((text, i) => html`<p class=${i === words.length - 1 ? "remedy" : "why"}>${text}</p>`);
    return html`<div class="trouble"><div>${paragraphs}</div>${trouble.code === "look" ? onward() : recover()}</div>`;
  }

  /** @param {import("../state/types.js").Refusal} refusal */
  #refusal(refusal) {
    return html`<div class="refusal">
      <p><strong>${refusal.what}</strong> ${refusal.why} ${refusal.remedy}</p>
      <button data-key="understood" on-click=${() => store.refuse(null)}>Understood</button>
    </div>`;
  }
}

/** The film is in order or not, and somebody has looked: the takes there are will do. */
function onward() {
  const pass = () => command("/api/skip", { target: target(store.view) });
  return html`<button data-key="onward" on-click=${pass}>Move on with what there is</button>`;
}

/** Everything else is put right by one button. */
function recover() {
  return html`<button class="main" data-key="recover" on-click=${() => command("/api/recover")}>Recover</button>`;
}

/**
 * Why, and what to do; what happened stands in the strip above.
 * @param {import("../state/types.js").Trouble} trouble
 */
function lines({ what, why, remedy }) {
  return [why.startsWith(what) ? why.slice(what.length).trim() : why, remedy].filter(Boolean);
}
