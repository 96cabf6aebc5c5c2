// Looking for rolls by words: in this job, and, on the machine that rigd runs on, in all jobs that it knows.

import { html } from "../base/html.js";
import { text, typed } from "../forms/fields.js";
import { get } from "../net/api.js";

/** @typedef {import("../state/types.js").Roll} Roll */
/** @typedef {import("../state/types.js").About} About */
/** @typedef {import("../state/types.js").Tally} Tally */
/** @typedef {{job_id: string, job: string, root: string, there: boolean, roll: Roll, about: About, closed: boolean, tally: Tally}} Found */
/** @typedef {{rolls: Found[], more: boolean, jobs: number, unread: string[]}} Report */
/**
 * @typedef {object} Finder
 * @property {string} words
 * @property {(words: string) => void} find in this job
 * @property {((words: string) => void) | null} everywhere in all jobs; null where that may not be asked
 * @property {Report | null} report what was found in all jobs
 */

/** @param {Finder} finder */
export function finder({ words, find, everywhere, report }) {
  const submit = (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const asked = typed(/** @type {HTMLFormElement} */ (event.target), "words");
    const all = /** @type {HTMLElement | null} */ (event.submitter)?.dataset.key === "find-all";
    if (all && everywhere) everywhere(asked);
    else find(asked);
  };
  return html`<form class="find" role="search" on-submit=${submit}>
    ${text("words", "Find rolls", { value: words, hint: "name, place, date, shelf" })}
    <div class="row"><button data-key="find">Find</button>${everywhere ? html`<button data-key="find-all">In all jobs</button>` : null}
    ${words || report ? html`<button type="button" data-key="find-none" on-click=${() => find("")}>All again</button>` : null}</div></form>
    ${report ? hits(report) : null}`;
}

/** @param {string} words @returns {Promise<Report>} */
export function findEverywhere(words) {
  const query = new URLSearchParams(words.split(/\s+/).filter(Boolean).map((word) => ["words", word]));
  return get(`/api/find?${query}`);
}

/** @param {Report} report */
function hits({ rolls, more, jobs, unread }) {
  const none = `Nothing of that is told in the ${jobs} ${jobs === 1 ? "job" : "jobs"} that this machine knows.`;
  return html`<section class="hits" aria-label="In all jobs"><p class="dim" role="status">${rolls.length ? `${rolls.length}${more ? " and more" : ""} in all jobs` : none}</p>
    <ol class="rows">${rolls.map(hit)}</ol>
    ${unread.map((name) => html`<p class="bad">What is known of job ${name} cannot be read; open the job once.</p>`)}</section>`;
}

/** @param {Found} found */
function hit({ job, root, there, roll, about, closed, tally }) {
  const told = [about.title, about.place, about.dates, about.photographer, roll.film_format, about.stock, about.reference];
  const state = [`${tally.pictures} pictures`, tally.unexposed && `${tally.unexposed} unexposed`, !closed && "not finished"];
  return html`<li><div><p>${roll.label}<span class="dim">, ${job}</span></p>
    <p>Kept in: ${roll.where || "nobody has said where"}</p>
    <p class="dim">${[...told, ...state].filter(Boolean).join(", ")}</p>
    <p class="dim">${root}/${roll.folder}${there ? "" : html`<strong class="bad"> not there now: its disk is not mounted, or it was moved</strong>`}</p></div></li>`;
}
