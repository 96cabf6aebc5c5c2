// Locked: the letters that rigd's own screen shows let this device in.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { line } from "../net/line.js";
import { Problem } from "../net/api.js";
import { comeIn } from "../net/enter.js";
import { typed } from "../forms/fields.js";
import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */

export class Enter extends Part {
  /** @param {View} view */
  regard(view) {
    return [view.link === "shut"];
  }

  /** @param {View} view */
  draw(view) {
    if (view.link !== "shut") return this.replaceChildren();
    return this.fill(html`<form on-submit=${this.#submit}>
      <label class="field"><span>Eight letters, from the screen of the machine that rigd runs on</span>
        <input name="code" required maxlength="24" autocomplete="off" autocapitalize="characters" spellcheck="false"
          class="letters" placeholder="XXXX-XXXX"></label>
      <button class="main">Come in</button>
      <p class="dim">It shows them under Bench, and when it is started with --lan.</p>
    </form>`);
  }

  /** @param {SubmitEvent} event */
  #submit = async (event) => {
    event.preventDefault();
    const code = typed(/** @type {HTMLFormElement} */ (event.target), "code");
    try {
      await comeIn(code);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return store.refuse(error.refusal);
    }
    store.refuse(null);
    return line.again();
  };
}
