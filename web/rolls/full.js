// A take at 100 %: tiles in a box that is scrolled, by finger, wheel or keys. One pixel of the picture for one of the
// screen, whatever the screen's own scale.

import { html, only } from "../base/html.js";
import { shadeFor } from "../base/shade.js";
import { get } from "../net/api.js";

/** @typedef {import("../base/orient.js").Way} Way */
/** @typedef {{width: number, height: number, tile: number}} Size */

/** @param {string} takeId @param {Way} way @param {string} words */
export function full(takeId, way, words) {
  const box = only(html`<div class="full" tabindex="0" role="region" aria-label=${`${words}, pixel by pixel: scroll to move`} aria-busy="true"></div>`);
  const address = `/api/takes/${encodeURIComponent(takeId)}/full`;
  void get(address).then((size) => lay(box, address, size, way, words)).catch(() => {
    box.removeAttribute("aria-busy");
    box.replaceChildren(html`<p class="empty">This file gives no picture</p>`);
  });
  return box;
}

/** @param {HTMLElement} box @param {string} address @param {Size} size @param {Way} way @param {string} words */
function lay(box, address, { width, height, tile }, { turn, mirror }, words) {
  const scale = 1 / devicePixelRatio;
  const across = turn === 90 || turn === 270;
  const [wide, high] = (across ? [height, width] : [width, height]).map((pixels) => pixels * scale);
  const sheet = only(html`<div class="sheet-of-tiles" role="img" aria-label=${words}></div>`);
  Object.assign(sheet.style, {
    width: `${width * scale}px`, height: `${height * scale}px`,
    transform: `translate(-50%, -50%) rotate(${turn}deg) scaleX(${mirror ? -1 : 1})`,
  });
  for (let y = 0; y < height; y += tile) {
    for (let x = 0; x < width; x += tile) sheet.append(one(`${address}/${y / tile}/${x / tile}`, x, y, { width, height, tile }, scale));
  }
  const room = only(html`<div class="room"></div>`);
  Object.assign(room.style, { width: `${wide}px`, height: `${high}px` });
  room.append(sheet);
  box.replaceChildren(room);
  box.removeAttribute("aria-busy");
  box.scrollTo((room.offsetWidth - box.clientWidth) / 2, (room.offsetHeight - box.clientHeight) / 2);
  // The tones fill the display, so that the mean is near the middle: dimmed as such a picture is.
  box.style.setProperty("--shade", String(shadeFor(0.22)));
}

/** @param {string} source @param {number} x @param {number} y @param {Size} size @param {number} scale */
function one(source, x, y, { width, height, tile }, scale) {
  const picture = new Image();
  picture.loading = "lazy";
  picture.alt = "";
  picture.src = source;
  Object.assign(picture.style, {
    left: `${x * scale}px`, top: `${y * scale}px`,
    width: `${Math.min(tile, width - x) * scale}px`, height: `${Math.min(tile, height - y) * scale}px`,
  });
  return picture;
}
