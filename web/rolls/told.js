// What is told about one frame, and its edge mark: read and written where the frame is looked at.

import { html } from "../base/html.js";
import { text, typed } from "../forms/fields.js";
import { command } from "../net/command.js";

/** @typedef {import("../state/types.js").FrameState} FrameState */
/** @typedef {import("../state/types.js").About} About */

/** @type {[Exclude<keyof About, "keywords">, string][]} */
const FIELDS = [["title", "Title"], ["caption", "Caption"], ["place", "Place"], ["dates", "Dates"], ["photographer", "Photographer"], ["reference", "Archive reference"]];

/** @param {FrameState} frame @param {About} inherited what its roll tells @param {() => void} changed */
export function told(frame, inherited, changed) {
  const submit = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.target);
    if (await tell(frame, form)) changed();
  };
  const field = (/** @type {[Exclude<keyof About, "keywords">, string]} */ [name, words]) =>
    text(name, words, { value: frame.about[name] ?? "", hint: inherited[name] ? `else ${inherited[name]}` : "" });
  return html`<details><summary>What is told about it</summary><form class="plan" on-submit=${submit}>
    <div class="two">${text("mark", "Edge mark", { value: frame.frame.mark, hint: "as printed: 00, 0, 12A" })}${FIELDS.map(field)}</div>
    <button data-key="tell">Write it down</button></form></details>`;
}

/** Only what was changed is said; an emptied field is inherited again. @param {FrameState} frame @param {HTMLFormElement} form */
async function tell(frame, form) {
  const id = frame.frame.frame_id;
  const mark = typed(form, "mark");
  if (mark !== frame.frame.mark && !(await command("/api/frames/edges", { marks: { [id]: mark } }))) return false;
  const changes = Object.fromEntries(FIELDS.map(([name]) => [name, typed(form, name) || null])
    .filter(([name, value]) => value !== (frame.about[/** @type {"title"} */ (name)] || null)));
  if (!Object.keys(changes).length) return true;
  return Boolean(await command("/api/frames/describe", { ids: [id], changes }));
}
