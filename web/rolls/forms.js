// Naming the job; planning a roll, or many from a spreadsheet's table.

import { html } from "../base/html.js";
import { oneOf, pick, text, typed, wholeNumber } from "../forms/fields.js";
import { Problem, get } from "../net/api.js";
import { command } from "../net/command.js";

/** @typedef {import("../state/types.js").Job} Job */

const FORMATS = [
  "135", "135-half", "135-24x65", "120-6x4.5", "120-6x6", "120-6x7", "120-6x8", "120-6x9", "120-6x12", "120-6x17",
  "mount", "sheet-4x5",
];
/** @type {[string, string][]} */
const BASES = [["safety", "safety"], ["nitrate", "nitrate"], ["unknown", "not known"]];
/** @type {[string, string][]} */
const ABOUT = [
  ["title", "Title"], ["photographer", "Photographer"], ["place", "Place"], ["dates", "Dates"], ["camera", "Camera"],
  ["lens", "Lens"], ["rights", "Rights"], ["reference", "Archive reference"],
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
    ${oneOf("base", "Film base", BASES, "unknown")}
    <button class="main">Open the job</button>
  </form>`;
}

/** @param {Job | null} job @param {() => void} done @param {() => void} leave */
export function planForm(job, done, leave) {
  const submit = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const roll = await command("/api/plan/roll", { changes: plan(/** @type {HTMLFormElement} */ (event.target)) });
    if (!roll) return;
    if (/** @type {HTMLElement | null} */ (event.submitter)?.dataset.key === "plan-open") await command(`/api/rolls/${encodeURIComponent(roll.roll_id)}/open`);
    done();
  };
  return html`<form class="plan" on-submit=${submit} on-change=${suggest}>
    ${text("label", "Name, as written on its sleeve or box", { required: true })}
    <div class="two">${pick("film_format", "Format", FORMATS, "135")}${text("where", "Where it lies")}</div>
    ${oneOf("tone", "Film", [["negative", "negative"], ["positive", "positive"]], "negative")}
    ${oneOf("colour", "Colour", [["mono", "black and white"], ["colour", "colour"]], "mono")}
    ${oneOf("base_type", "Film base", BASES, job?.default_base ?? "unknown")}
    <p class="dim">Nitrate can catch fire, burns without air and cannot be put out: it is fed by hand, never unattended.
      Ask a trained conservator first; NFPA 40 and local codes say more. Film whose base nobody knows is fed by hand too,
      until somebody gives their word.</p>
    <div class="two">
      ${text("exposures", "Frames, as its box says", { number: true, hint: "36 stands for 36 to 39" })}
      ${text("cuts", "Frames on each strip", { hint: "6 6 6 6 6 6, if counted" })}
      ${text("fewest", "Frames in truth", { number: true, hint: "fewest, if counted" })}
      ${text("most", "At most", { number: true, hint: "if it may be more" })}
      ${text("strip_places", "Frames to a strip", { number: true, hint: "as it is cut, if it is" })}
    </div><p class="dim" role="status"></p>
    <details><summary>What is told about it</summary><div class="two">${text("stock", "Stock")}${text("process", "Process")}
      ${ABOUT.map(([name, words]) => text(name, words, { hint: name === "dates" ? "1957, 1957-05, or two with a slash" : "" }))}
      ${text("caption", "Caption")}${text("keywords", "Keywords", { hint: "with semicolons between" })}</div></details>
    <div class="row"><button data-key="plan-open" class="main">Plan and open it</button><button data-key="plan-only">Plan it only</button>
      <button type="button" on-click=${leave}>Not now</button></div>
  </form>`;
}

/** What the format suggests, as soon as it and what its box says are known. @param {Event} event */
async function suggest(event) {
  const form = /** @type {HTMLFormElement} */ (/** @type {Element} */ (event.target).closest("form"));
  if (!["film_format", "exposures"].includes(/** @type {HTMLInputElement} */ (event.target).name)) return;
  const asked = wholeNumber(form, "exposures");
  const words = form.querySelector("[role=status]");
  try {
    const found = await get(`/api/plan/suggest?film_format=${typed(form, "film_format")}${asked ? `&exposures=${asked}` : ""}`);
    if (words) words.textContent = `As is usual, where nothing else is said: ${found.why}`;
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    if (words) words.textContent = `${error.refusal.what} ${error.refusal.remedy}`;
  }
}

/** @param {HTMLFormElement} form */
function plan(form) {
  const fewest = wholeNumber(form, "fewest");
  const cuts = typed(form, "cuts").split(/[\s,;]+/).filter(Boolean).map(Number);
  const told = ABOUT.map(([name]) => [name, typed(form, name)]).filter(([, value]) => value);
  const keywords = typed(form, "keywords").split(";").map((word) => word.trim()).filter(Boolean);
  const caption = typed(form, "caption");
  const about = { ...Object.fromEntries(told), ...(caption ? { caption } : {}), ...(keywords.length ? { keywords } : {}) };
  const numbers = { exposures: wholeNumber(form, "exposures"), strip_places: wholeNumber(form, "strip_places") };
  return {
    label: typed(form, "label"), film_format: typed(form, "film_format"), tone: typed(form, "tone"),
    colour: typed(form, "colour"), base_type: typed(form, "base_type"), where: typed(form, "where"),
    stock: typed(form, "stock"), process: typed(form, "process"), about,
    ...(fewest === null ? {} : { expected: [fewest, wholeNumber(form, "most") ?? fewest] }), ...(cuts.length ? { cuts } : {}),
    ...Object.fromEntries(Object.entries(numbers).filter(([, value]) => value !== null)),
  };
}

/** Many rolls at once. @param {() => void} done */
export function tableField(done) {
  const take = async (/** @type {Event} */ event) => {
    const field = /** @type {HTMLInputElement} */ (event.target);
    const file = field.files?.[0];
    if (!file) return;
    const found = await command("/api/plan/text", { text: await file.text() });
    field.value = "";
    if (found) done();
  };
  return html`<label class="field table"><span>Or many from a table <small>CSV, as a spreadsheet writes it; its first line names the columns</small></span>
    <input type="file" accept=".csv,text/csv" data-key="table" on-change=${take}></label>`;
}
