// A histogram as three ridges, one a channel, each with its letter: they are told apart by place, not by colour alone.
// Marks: the aim (a dashed line on a foot), the ceiling (a wall at the right) and, behind it, how much of each channel
// is over it; and dark end, middle and light end.

import { html, only } from "../base/html.js";
import { CEILING } from "./measure.js";

/** @typedef {import("./measure.js").Histogram} Histogram */
/** @typedef {import("../state/types.js").Level} Level */

const WIDTH = 420;
const LEFT = 26;
const RIGHT = WIDTH - 62;
const RIDGE = 34;
const FLOOR = 3 * RIDGE;
const LOWEST = -10;
const NAMES = ["R", "G", "B"];

// The definition of exposure: where the two aims lie, in stops under saturation; and what may be over the ceiling.
export const AIMS = { centre: -2.2, base: -0.5 };
const MOST_OVER_PCT = 0.1;

/** @param {number} stops */
function x(stops) {
  return LEFT + ((Math.max(LOWEST, stops) - LOWEST) / -LOWEST) * (RIGHT - LEFT);
}

/**
 * An empty drawing with its scale and marks.
 * @param {{aim: number, level?: Level | null, over?: number[] | null, label: string}} marks
 * @returns {Element}
 */
export function ridges({ aim, level = null, over = null, label }) {
  const drawing = only(html`<svg class="ridges" viewBox=${`0 0 ${WIDTH} ${FLOOR + 24}`} role="img" aria-label=${label}>
    <g class="scale">${wholeStops()}</g>
    <g class="wall"><rect x=${x(CEILING)} y="0" width=${x(0) - x(CEILING) + 3} height=${FLOOR} /></g>
    ${NAMES.map((name, i) => ridge(name, i, level))}
    <g class="aim"><path d=${`M${x(aim)} 0V${FLOOR}`} />
      <path class="foot" d=${`M${x(aim) - 8} ${FLOOR + 10}h16l-8 -10z`} /></g>
  </svg>`);
  fillOver(drawing, over);
  return drawing;
}

/** Draw a histogram into it; null draws none. @param {Element} drawing @param {Histogram | null} histogram */
export function fillRidges(drawing, histogram) {
  const peak = Math.max(1e-6, ...(histogram?.channels.flat() ?? []));
  drawing.querySelectorAll(".hill").forEach((path, i) => {
    path.setAttribute("d", histogram ? hill(histogram, i, peak) : "");
  });
  if (histogram?.over) fillOver(drawing, histogram.over);
}

/** How much of each channel is over the ceiling: marked where it is more than may be.
 * @param {Element} drawing @param {number[] | null} over per cent */
function fillOver(drawing, over) {
  drawing.querySelectorAll(".over").forEach((text, i) => {
    const much = over !== null && over[i] > MOST_OVER_PCT;
    text.textContent = over === null ? "" : `${much ? "! " : ""}${overWords(over[i])}`;
    text.classList.toggle("much", much);
  });
}

/** @param {number} percent */
function overWords(percent) {
  return `${percent >= 9.95 ? Math.round(percent) : Number(percent.toFixed(1))} %`;
}

/** Clipping in words: the channels that are over the ceiling by more than may be. @param {number[]} over per cent */
export function clippedWords(over) {
  const much = over.flatMap((percent, i) => (percent > MOST_OVER_PCT ? [`${NAMES[i]} ${overWords(percent)}`] : []));
  return much.length ? `clipped: ${much.join(", ")}` : "nothing clipped";
}

function wholeStops() {
  return Array.from({ length: -LOWEST + 1 }, (_, i) => wholeStop(LOWEST + i));
}

/** A line at each whole stop, a number at the even ones; at -2 stands the foot of the aim. @param {number} stop */
function wholeStop(stop) {
  const words = stop % 2 || stop === -2 ? "" : stop ? `−${-stop}` : "full";
  return inSvg(html`<svg><path d=${`M${x(stop)} 0V${FLOOR}`} class=${stop % 2 ? "odd" : "even"} />
    <text x=${x(stop)} y=${FLOOR + 20}>${words}</text></svg>`);
}

/** @param {string} name @param {number} i @param {Level | null} level */
function ridge(name, i, level) {
  const foot = footOf(i);
  return inSvg(html`<svg><g class=${`ridge ${name}`}>
    <text x="2" y=${foot - 12}>${name}</text>
    <path class="ground" d=${`M${LEFT} ${foot}H${RIGHT}`} />
    <path class="hill" d="" />
    <path class="span" d=${level ? span(level.dark[i], level.light[i], foot) : ""} />
    <text class="over" x=${RIGHT + 10} y=${foot - 10}></text>
  </g></svg>`);
}

/** @param {number} i */
function footOf(i) {
  return (i + 1) * RIDGE - 3;
}

/** Heights go with the square root of the share, so that thin ends stay visible.
 * @param {Histogram} histogram @param {number} i @param {number} peak */
function hill({ from, step, channels }, i, peak) {
  const foot = footOf(i);
  const points = channels[i].flatMap((share, bin) => {
    const right = from + (bin + 1) * step;
    if (right <= LOWEST) return [];
    const top = (foot - Math.sqrt(share / peak) * (RIDGE - 8)).toFixed(1);
    return [`${x(from + bin * step).toFixed(1)} ${top}`, `${x(right).toFixed(1)} ${top}`];
  });
  return `M${LEFT} ${foot}L${points.join("L")}L${x(0)} ${foot}Z`;
}

/**
 * From the dark end to the light end, with the middle between them.
 * @param {number} dark
 * @param {number} light
 * @param {number} foot
 */
function span(dark, light, foot) {
  const middle = x((dark + light) / 2);
  return `M${x(dark)} ${foot - 5}v5H${x(light)}v-5M${middle} ${foot - 9}v9`;
}

/** Nodes parsed inside an svg, without it: only there they get its namespace. @param {DocumentFragment} made */
function inSvg(made) {
  const inside = document.createDocumentFragment();
  inside.append(...only(made).childNodes);
  return inside;
}
