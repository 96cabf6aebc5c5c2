// How the rig is: what would make somebody get up before the roll is through.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {[name: string, value: string, bad: boolean]} Gauge */

export class Gauges extends Part {
  /** @param {View} view */
  regard(view) {
    return [view.vitals, view.state?.lamp, view.state?.stopped, view.state?.unclaimed, view.link];
  }

  /** @param {View} view */
  draw(view) {
    if (!view.state || !view.vitals) return this.replaceChildren();
    const rows = gauges(view).map(([name, value, bad]) => html`<div class=${bad ? "bad" : ""}><dt>${name}</dt><dd>${value}</dd></div>`);
    return this.fill(html`<h3>Rig</h3><dl>${rows}</dl>`);
  }
}

/** @param {View} view @returns {Gauge[]} */
export function gauges(view) {
  const { vitals, state } = view;
  if (!vitals || !state) return [];
  /** @type {(Gauge | null)[]} */
  const all = [
    ["Camera", vitals.camera_ok ? vitals.camera || "there" : "not there", !vitals.camera_ok],
    vitals.battery_pct === null ? ["Battery", "not told by the camera", false]
      : ["Battery", `${vitals.battery_pct} %`, vitals.battery_pct < 20],
    card(view),
    vitals.frames_left === null ? null
      : ["Disk", `${size(vitals.free_bytes)} free, ${vitals.frames_left} frames`, vitals.frames_left < 200],
    copies(view),
    vitals.ledger_ok ? null : ["Ledger", "cannot be written", true],
    ["Lamp", `${lampWords(vitals)}, ${state.lamp ? "measured" : "not measured"}`, false],
    board(view),
    state.stopped ? ["Film", `stopped by ${state.stopped}`, true] : null,
    state.unclaimed ? ["Strays", `${state.unclaimed} files of no take`, true] : null,
  ];
  return /** @type {Gauge[]} */ (all.filter(Boolean));
}

/** The card's room, in frames where that is known. @param {View} view @returns {Gauge} */
function card(view) {
  const free = view.vitals?.card_free_bytes ?? null;
  if (free === null) return ["Card", "not told by the camera", false];
  const frames = view.vitals?.card_frames_left ?? null;
  return ["Card", frames === null ? `${size(free)} free` : `${size(free)} free, ${frames} frames`, frames !== null && frames < 40];
}

/** @param {NonNullable<View["vitals"]>} vitals */
function lampWords({ lamp_level: level = null, lamp_colour: colour = "", lamp_warm_in_s: warm = null }) {
  if (level === null) return "no lamp control";
  if (level === 0) return "off";
  return [colour, `${Math.round(100 * level)} %`, warm ? `warm in ${Math.ceil(warm)} s` : ""].filter(Boolean).join(" ");
}

/** @param {View} view @returns {Gauge | null} */
function copies(view) {
  const { copied = null, to_copy: files = null, copy_trouble: trouble = "" } = view.vitals ?? {};
  return files === null ? null : ["Second copy", `copied ${copied} of ${files}${trouble ? `. ${trouble}` : ""}`, trouble !== ""];
}

/** What moves the film. @param {View} view @returns {Gauge} */
function board(view) {
  const { board: name, board_ok: there, board_film: film = null } = view.vitals ?? {};
  if (!name) return ["Advancer", "none, film moved by hand", false];
  if (!there) return ["Advancer", "does not answer", true];
  return ["Advancer", film === null ? "there" : film ? "there, film in it" : "there, no film in it", false];
}

/** @param {number | null} bytes */
function size(bytes) {
  return bytes === null ? "?" : bytes >= 1e12 ? `${(bytes / 1e12).toFixed(1)} TB` : `${Math.round(bytes / 1e9)} GB`;
}
