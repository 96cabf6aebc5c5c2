// The live picture, drawn the way the operator sees the film; each picture is measured too, for the histogram beside it.

import { html } from "../base/html.js";
import { paint, wayOf, wayWords } from "../base/orient.js";
import { Part } from "../base/part.js";
import { screenPrefs } from "../base/prefs.js";
import { shade } from "../base/shade.js";
import { measure } from "../levels/measure.js";
import { line } from "../net/line.js";
import { liveLevels } from "../levels/live-levels.js";
import { currentRoll } from "../state/copies.js";
import { foundLast } from "../state/frames.js";
import { store } from "../state/store.js";
import { Zoom } from "./zoom.js";

/** @typedef {import("../state/store.js").View} View */

// As the definition of exposure: so much of the picture is left out at each side.
const TRIM = 0.03;
const PICTURES = { dim: "dimmed", full: "at full light", hidden: "hidden" };
/** @type {Record<string, "dim" | "full" | "hidden">} */
const NEXT = { dim: "full", full: "hidden", hidden: "dim" };

export class Live extends Part {
  #canvas = document.createElement("canvas");
  #zoom = new Zoom(this.#canvas);
  #small = document.createElement("canvas");
  #came = false;
  /** @type {(() => void) | null} */
  #leave = null;

  begin() {
    Object.assign(this.#small, { width: 160, height: 107 });
    this.#canvas.setAttribute("role", "img");
    this.#canvas.setAttribute("aria-label", "Live view of the gate");
    this.#watch();
    document.addEventListener("visibilitychange", this.#watch);
    this.#leave = screenPrefs.subscribe(() => {
      this.#watch();
      this.draw(store.view);
    });
  }

  disconnectedCallback() {
    super.disconnectedCallback();
    document.removeEventListener("visibilitychange", this.#watch);
    this.#leave?.();
    line.watch(false, this.#show);
  }

  /** @param {View} view */
  regard(view) {
    return [this.#says(view), this.#came, view.spot];
  }

  /** @param {View} view */
  draw(view) {
    const { pictures, reads } = screenPrefs.now;
    const says = [this.#says(view), wayWords(stripOf(view), reads)].filter(Boolean).map((words) => `, ${words}`).join("");
    this.fill(html`<figure class="picture">
      <figcaption><h3>Live view${says && html`<span>${says}</span>`}</h3><rigd-closer></rigd-closer>
        ${lightButton(pictures)}</figcaption>
      ${pictures === "hidden" ? html`<p class="empty">Pictures are hidden</p>` : this.#frame()}
    </figure>`);
    this.#zoom.to(view.spot);
  }

  #frame() {
    if (!this.#came) return html`<p class="empty">No live picture yet</p>`;
    const frame = document.createElement("div");
    frame.className = "frame";
    frame.append(this.#canvas);
    return frame;
  }

  /** @param {View} view */
  #says(view) {
    if (view.link !== "on") return "standing: no link";
    if (view.vitals && !view.vitals.camera_ok) return "standing: no camera";
    return ["settle", "expose"].includes(view.moment.step) ? "off for the exposure" : "";
  }

  #watch = () => line.watch(!document.hidden && screenPrefs.now.pictures !== "hidden", this.#show);

  /** @param {number} _number @param {ArrayBuffer} jpeg */
  #show = async (_number, jpeg) => {
    const picture = await createImageBitmap(new Blob([jpeg], { type: "image/jpeg" }));
    paint(this.#canvas, picture, wayOf(stripOf(store.view), screenPrefs.now));
    shade(this.#canvas);
    this.#zoom.apply();
    liveLevels.put(measure(this.#pixels(picture)));
    picture.close();
    if (!this.#came) {
      this.#came = true;
      this.draw(store.view);
    }
  };

  /** A small copy is enough to count; where a frame was found before, of what lies inside it. @param {ImageBitmap} picture */
  #pixels(picture) {
    const { width, height } = this.#small;
    const small = this.#small.getContext("2d", { willReadFrequently: true });
    if (!small) throw new Error("no canvas to measure on");
    const state = store.view.state;
    const [left, top, right, bottom] = within(state ? foundLast(state) : []);
    const [wide, high] = [picture.width, picture.height];
    small.drawImage(picture, left * wide, top * high, (right - left) * wide, (bottom - top) * high, 0, 0, width, height);
    return small.getImageData(0, 0, width, height).data;
  }
}

/** The upright box in four corners, without the edges, where the gate's shadow lies; all of it where there are none.
 * @param {[number, number][]} corners shares of the picture */
function within(corners) {
  if (!corners.length) return [0, 0, 1, 1];
  const [xs, ys] = [corners.map(([x]) => x), corners.map(([, y]) => y)].map((all) => all.sort((a, b) => a - b));
  const [trimX, trimY] = [TRIM * (xs[2] - xs[1]), TRIM * (ys[2] - ys[1])];
  return [xs[1] + trimX, ys[1] + trimY, xs[2] - trimX, ys[2] - trimY].map((share) => Math.min(1, Math.max(0, share)));
}

/** A disc of light: half of it, all of it, none. @param {"dim" | "full" | "hidden"} pictures */
function lightButton(pictures) {
  const words = `Pictures are ${PICTURES[pictures]}; show them ${PICTURES[NEXT[pictures]]}`;
  const disc = { dim: "M20 8a12 12 0 0 0 0 24z", full: "M20 8a12 12 0 0 0 0 24a12 12 0 0 0 0 -24z", hidden: "M8 32L32 8" }[pictures];
  return html`<button data-key="light" class="quiet" aria-label=${words} title=${words} on-click=${dimmer}>
    <svg viewBox="0 0 40 40" aria-hidden="true"><circle cx="20" cy="20" r="13" /><path d=${disc} /></svg></button>`;
}

/** Dimmed, full, hidden, and dimmed again. */
function dimmer() {
  screenPrefs.set({ pictures: NEXT[screenPrefs.now.pictures] });
}

/** The strip in the gate, or the one before it: how it lies is taken for the rule. @param {View} view */
function stripOf(view) {
  const roll = view.state && currentRoll(view.state);
  const strips = Object.values(roll?.strips ?? {});
  return roll?.strips[view.state?.strip_id ?? ""] ?? strips.sort((a, b) => b.number - a.number)[0] ?? null;
}
