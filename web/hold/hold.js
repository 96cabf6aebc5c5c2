// Who works the rig, where it is not this page; and the way to take it over, which the other page shows at once.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { command } from "../net/command.js";
import { mayWork, otherHand } from "../state/people.js";
import { store } from "../state/store.js";

/** @typedef {import("../state/store.js").View} View */

export class Hold extends Part {
  begin() {
    this.setAttribute("role", "status");
  }

  /** @param {View} view */
  regard(view) {
    return [otherHand(view), view.me?.role, view.link];
  }

  /** @param {View} view */
  draw(view) {
    const other = otherHand(view);
    if (view.link !== "on" || !view.me) return this.replaceChildren();
    if (!mayWork(view)) return this.fill(html`<p>${other ? `${other} works the rig.` : ""} You may look.</p>`);
    if (!other) return this.replaceChildren();
    return this.fill(html`<p><strong>${other}</strong> works the rig.</p>
      <button data-key="take" on-click=${takeControl}>Take control</button>`);
  }
}

/** Take control from whoever has it. */
export async function takeControl() {
  const answer = await command("/api/control", { hold: true });
  if (answer) store.control(answer.holder);
}
