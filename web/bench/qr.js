// A QR code drawn from its rows. Its paper is grey: a camera reads it, and a dark room stays dark.

import { html, only } from "../base/html.js";

// ISO/IEC 18004 asks for a quiet zone of four modules.
const QUIET = 4;

/** @param {string[]} rows "1" for a dark module @param {string} words what it is, for readers */
export function qr(rows, words) {
  const size = rows.length + 2 * QUIET;
  const path = rows.flatMap((row, y) => [...row].map((module, x) => (module === "1" ? `M${x + QUIET} ${y + QUIET}h1v1h-1z` : "")));
  return only(html`<svg class="qr" viewBox=${`0 0 ${size} ${size}`} role="img" aria-label=${words} shape-rendering="crispEdges">
    <rect width=${size} height=${size} class="paper" /><path d=${path.join("")} class="ink" /></svg>`);
}
