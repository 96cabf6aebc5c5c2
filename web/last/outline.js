// The frame that was found, drawn over its picture: on top of the canvas, so that dimmed pictures dim no line.

import { html, only } from "../base/html.js";
import { placed } from "../base/orient.js";

/** @typedef {[number, number]} Point shares of a picture's width and height */

/**
 * Lines along the four sides, and a heavy corner where each side begins.
 * @param {Point[]} corners as the sensor sees them, clockwise @param {import("../base/orient.js").Way} way
 * @param {{width: number, height: number}} size of the picture as it is shown
 * @returns {Element}
 */
export function outline(corners, way, { width, height }) {
  const points = corners.map((corner) => placed(corner, way)).map(([x, y]) => /** @type {Point} */ ([x * width, y * height]));
  const sides = points.map((_, i) => points[(i + points.length - 1) % points.length]);
  const marks = points.map((at, i) => corner(at, sides[i], points[(i + 1) % points.length]));
  return only(html`<svg class="outline" viewBox=${`0 0 ${width} ${height}`} aria-hidden="true">
    <path class="halo" d=${`M${points.join("L")}Z`} /><path d=${`M${points.join("L")}Z`} /><path class="mark" d=${marks.join("")} />
  </svg>`);
}

/** A tenth of each side from a corner. @param {Point} at @param {Point} before @param {Point} after */
function corner(at, before, after) {
  return `M${along(at, before)}L${at}L${along(at, after)}`;
}

/** @param {Point} from @param {Point} to */
function along(from, to) {
  return [from[0] + (to[0] - from[0]) / 10, from[1] + (to[1] - from[1]) / 10];
}
