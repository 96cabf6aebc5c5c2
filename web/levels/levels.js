// Two histograms in stops under saturation: the last take's, which counts, and the live picture's, which is a guide.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { get } from "../net/api.js";
import { takeOf } from "../state/copies.js";
import { frameWords, lastTakeId } from "../state/frames.js";
import { liveLevels } from "./live-levels.js";
import { fromDaemon } from "./measure.js";
import { AIMS, fillRidges, ridges } from "./ridges.js";

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
    const aim = level?.aim === "base" ? AIMS.base : AIMS.centre;
    const name = take && view.state ? frameWords(view.state, take.frame_id) : "";
    const title = view.chosen ? name : name ? `Last take, ${name.toLowerCase()}` : "Last take";
    this.fill(html`
      <h3>${title}</h3>
      ${ridges({ aim, level, label: `Histogram of the last take: ${levelWords(level)}` })}
      <h3>Live view, a guide only</h3>
      ${ridges({ aim, label: "Histogram of the live view" })}
      <p class="key"><span class="key-aim">aim</span><span class="key-wall">ceiling</span>
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

/** @param {import("../state/types.js").Level | null} level */
function levelWords(level) {
  if (!level) return "nothing measured yet";
  const off = Math.abs(level.off_stops).toFixed(1);
  const where = off === "0.0" ? "at the aim" : `${off} stops ${level.off_stops > 0 ? "over" : "under"} the aim`;
  const over = `${level.clipped_pct.toFixed(2)} per cent over the ceiling`;
  return `middle at ${level.centre.toFixed(1)} stops, ${where}; ${over}`;
}
