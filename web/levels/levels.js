// Two histograms in stops under saturation: the last take's, which counts, and the live picture's, which is a guide.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { get } from "../net/api.js";
import { takeOf } from "../state/copies.js";
import { frameWords, lastTakeId } from "../state/frames.js";
import { liveLevels } from "./live-levels.js";
import { fromDaemon } from "./measure.js";
import { AIMS, clippedWords, fillRidges, ridges } from "./ridges.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {import("./measure.js").Histogram} Histogram */

export class Levels extends Part {
  /** @type {(() => void) | null} */
  #leave = null;
  /** @type {{takeId: string, histogram: Histogram} | null} */
  #known = null;

  begin() {
    this.#leave = liveLevels.subscribe(() => this.#live());
  }

  disconnectedCallback() {
    super.disconnectedCallback();
    this.#leave?.();
  }

  /** @param {View} view */
  regard(view) {
    const takeId = lastTakeId(view);
    return [takeId, view.chosen];
  }

  /** @param {View} view */
  draw(view) {
    const takeId = lastTakeId(view);
    const take = takeId && view.state ? takeOf(view.state, takeId) : null;
    const level = take?.verdict?.level ?? null;
    const over = take?.verdict ? overOf(take.verdict) : null;
    const aim = level?.aim === "base" ? AIMS.base : AIMS.centre;
    const name = take && view.state ? frameWords(view.state, take.frame_id) : "";
    const title = view.chosen ? name : name ? `Last take, ${name.toLowerCase()}` : "Last take";
    this.fill(html`
      <h3>${title}</h3>
      ${ridges({ aim, level, over, label: `Histogram of the last take: ${levelWords(level, over)}` })}
      <h3>Live view, a guide only</h3>
      ${ridges({ aim, label: "Histogram of the live view" })}
      <p class="key"><span class="key-aim">aim</span><span class="key-wall">ceiling, and how much is over it</span>
        <span class="key-span">dark end, middle, light end</span></p>`);
    this.#live();
    if (take) void this.#drawTake(take.take_id);
  }

  #live() {
    const drawing = this.querySelectorAll(".ridges")[1];
    if (drawing) fillRidges(drawing, liveLevels.now);
  }

  /** @param {string} takeId */
  async #drawTake(takeId) {
    const drawing = this.querySelectorAll(".ridges")[0];
    try {
      if (this.#known?.takeId !== takeId) {
        const sent = await get(`/api/takes/${encodeURIComponent(takeId)}/histogram`);
        this.#known = { takeId, histogram: fromDaemon(sent) };
      }
      fillRidges(drawing, this.#known.histogram);
    } catch {
      drawing.after(html`<p class="dim">No curve of this take; only its ends are marked.</p>`);
    }
  }
}

/** What is over the ceiling, per cent by channel; null where only the worst channel was kept.
 * @param {import("../state/types.js").Verdict} verdict */
function overOf({ numbers }) {
  const over = ["r", "g", "b"].map((name) => numbers[`over_pct_${name}`]);
  return over.every((percent) => percent !== undefined) ? over : null;
}

/** @param {import("../state/types.js").Level | null} level @param {number[] | null} over */
function levelWords(level, over) {
  if (!level) return "nothing measured yet";
  const off = Math.abs(level.off_stops).toFixed(1);
  const where = off === "0.0" ? "at the aim" : `${off} stops ${level.off_stops > 0 ? "over" : "under"} the aim`;
  const clipped = over ? clippedWords(over) : `${level.clipped_pct.toFixed(1)} % over the ceiling`;
  return `middle at ${level.centre.toFixed(1)} stops, ${where}; ${clipped}`;
}
