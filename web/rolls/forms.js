// Naming the job, and planning a roll.

import { html } from "../base/html.js";
import { command } from "../net/command.js";
import { oneOf, pick, text, typed, wholeNumber } from "../forms/fields.js";

const FORMATS = [
  "135", "135-half", "135-24x65", "120-6x4.5", "120-6x6", "120-6x7", "120-6x8", "120-6x9", "120-6x12", "120-6x17",
  "mount", "sheet-4x5",
];

/** @param {() => unknown} done */
export function jobForm(done) {
  const submit = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.target);
    if (await command("/api/job", { title: typed(form, "title"), default_base: typed(form, "base") })) done();
  };
  return html`<form on-submit=${submit}>
    ${text("title", "What is being digitised, and for whom", { required: true })}
    ${oneOf("base", "Film base", [["safety", "safety"], ["nitrate", "nitrate"], ["unknown", "not known"]], "unknown")}
    <button class="main">Open the job</button>
  </form>`;
}

/** @param {() => void} done @param {() => void} leave */
export function planForm(done, leave) {
  const submit = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const roll = await command("/api/rolls", plan(/** @type {HTMLFormElement} */ (event.target)));
    if (!roll) return;
    await command(`/api/rolls/${encodeURIComponent(roll.roll_id)}/open`);
    done();
  };
  return html`<form class="plan" on-submit=${submit}>
    ${text("label", "Name, as written on its sleeve or box", { required: true })}
    <div class="two">${pick("film_format", "Format", FORMATS, "135")}${text("where", "Where it lies")}</div>
    ${oneOf("tone", "Film", [["negative", "negative"], ["positive", "positive"]], "negative")}
    ${oneOf("colour", "Colour", [["mono", "black and white"], ["colour", "colour"]], "mono")}
    <div class="two">
      ${text("fewest", "Frames", { number: true, hint: "fewest, if known" })}
      ${text("most", "Frames", { number: true, hint: "most, if it may be more" })}
      ${text("strip_places", "Frames to a strip", { number: true, hint: "as it is cut, if it is" })}
    </div>
    <div class="row"><button class="main">Plan and open it</button>
      <button type="button" on-click=${leave}>Not now</button></div>
  </form>`;
}

/** @param {HTMLFormElement} form */
function plan(form) {
  const fewest = wholeNumber(form, "fewest");
  return {
    label: typed(form, "label"), film_format: typed(form, "film_format"), tone: typed(form, "tone"),
    colour: typed(form, "colour"), where: typed(form, "where"), strip_places: wholeNumber(form, "strip_places"),
    expected: fewest === null ? null : [fewest, wholeNumber(form, "most") ?? fewest],
  };
}
