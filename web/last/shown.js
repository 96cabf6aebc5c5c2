// A picture of the daemon's on a canvas: turned, mirrored, and dimmed by how bright it is.

import { html, only } from "../base/html.js";
import { paint } from "../base/orient.js";
import { shade } from "../base/shade.js";
import { outline } from "./outline.js";

/**
 * A frame that shows the picture once it is here, or says that there is none.
 * @param {string} source @param {string} words what it shows, for readers @param {import("../base/orient.js").Way} way
 * @param {[number, number][]} corners the found frame's, to be outlined, as shares of the sensor; none where it is not
 * @returns {HTMLElement}
 */
export function shown(source, words, way, corners = []) {
  const canvas = document.createElement("canvas");
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", words);
  const frame = only(html`<div class="frame" aria-busy="true">${canvas}</div>`);
  const picture = new Image();
  picture.onload = () => {
    paint(canvas, picture, way);
    shade(canvas);
    if (corners.length) frame.append(outline(corners, way, canvas));
    frame.removeAttribute("aria-busy");
  };
  picture.onerror = () => frame.replaceWith(html`<p class="empty">This file gives no picture</p>`);
  picture.src = source;
  return frame;
}
