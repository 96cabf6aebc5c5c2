// The live picture, drawn on a canvas; each picture is measured too, for the histogram beside it.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { measure } from "../levels/measure.js";
import { line } from "../net/line.js";
import { liveLevels } from "../levels/live-levels.js";

/** @typedef {import("../state/store.js").View} View */

export class Live extends Part {
  #canvas = document.createElement("canvas");
  #small = new OffscreenCanvas(160, 107);
  #came = false;

  begin() {
    this.#canvas.setAttribute("role", "img");
    this.#canvas.setAttribute("aria-label", "Live view of the gate");
    this.#watch();
    document.addEventListener("visibilitychange", this.#watch);
  }

  disconnectedCallback() {
    super.disconnectedCallback();
    document.removeEventListener("visibilitychange", this.#watch);
    line.watch(false, this.#show);
  }

  /** @param {View} view */
  regard(view) {
    return [this.#says(view), this.#came];
  }

  /** @param {View} view */
  draw(view) {
    const says = this.#says(view);
    this.fill(html`<figure class="picture">
      <figcaption><h2>Live view</h2>${says && html`<span class="dim">${says}</span>`}</figcaption>
      ${this.#came ? this.#canvas : html`<p class="empty">No live picture yet</p>`}
    </figure>`);
  }

  /** @param {View} view */
  #says(view) {
    if (view.link !== "on") return "standing: no link";
    if (view.vitals && !view.vitals.camera_ok) return "standing: no camera";
    return ["settle", "expose"].includes(view.moment.step) ? "off for the exposure" : "";
  }

  #watch = () => line.watch(!document.hidden, this.#show);

  /** @param {number} _number @param {ArrayBuffer} jpeg */
  #show = async (_number, jpeg) => {
    const picture = await createImageBitmap(new Blob([jpeg], { type: "image/jpeg" }));
    Object.assign(this.#canvas, { width: picture.width, height: picture.height });
    this.#canvas.getContext("2d")?.drawImage(picture, 0, 0);
    liveLevels.put(measure(this.#pixels(picture)));
    picture.close();
    if (!this.#came) {
      this.#came = true;
      this.querySelector(".empty")?.replaceWith(this.#canvas);
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
