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
import { store } from "../state/store.js";
import { Zoom } from "./zoom.js";

/** @typedef {import("../state/store.js").View} View */

const PICTURES = { dim: "Dimmed", full: "Full light", hidden: "Hidden" };
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
        <button data-key="light" class="quiet" on-click=${dimmer}>${PICTURES[pictures]}</button></figcaption>
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

  /** A small copy is enough to count. @param {ImageBitmap} picture */
  #pixels(picture) {
    const { width, height } = this.#small;
    const small = this.#small.getContext("2d", { willReadFrequently: true });
    if (!small) throw new Error("no canvas to measure on");
    small.drawImage(picture, 0, 0, width, height);
    return small.getImageData(0, 0, width, height).data;
  }
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
