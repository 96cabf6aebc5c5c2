// Small positives, each fetched once while the page is open: a list that is drawn anew takes them along.

import { paint } from "../base/orient.js";
import { shade } from "../base/shade.js";

/** @typedef {import("../base/orient.js").Way} Way */

// A long roll has 72 frames; some rolls are looked at in turn.
const KEPT = 400;

/** @type {Map<string, Promise<HTMLImageElement | null>>} */
const known = new Map();

/** A canvas that shows the take's small positive once it is here. @param {string} takeId @param {Way} way */
export function small(takeId, way) {
  const canvas = document.createElement("canvas");
  canvas.setAttribute("aria-hidden", "true"); // what it shows is said by the words beside it
  void fetched(takeId).then((picture) => {
    if (!picture) return canvas.replaceWith(Object.assign(document.createElement("span"), { className: "blank", textContent: "no picture" }));
    paint(canvas, picture, way);
    return shade(canvas);
  });
  return canvas;
}

/** @param {string} takeId */
function fetched(takeId) {
  let picture = known.get(takeId);
  if (!picture) {
    picture = load(`/api/takes/${encodeURIComponent(takeId)}/small`);
    known.set(takeId, picture);
    if (known.size > KEPT) known.delete(/** @type {string} */ (known.keys().next().value));
    void picture.then((done) => done ?? known.delete(takeId)); // perhaps it was not ready yet
  }
  return picture;
}

/** @param {string} source @returns {Promise<HTMLImageElement | null>} */
function load(source) {
  return new Promise((resolve) => {
    const picture = new Image();
    picture.onload = () => resolve(picture);
    picture.onerror = () => resolve(null);
    picture.src = source;
  });
}
