// Looking closely at a picture: two fingers, the wheel, or a spot at one pixel of the picture for one of the screen.

/** @typedef {import("../state/store.js").View["spot"]} Spot */

const MOST = 8;

/** Where a spot lies in the picture, as shares of its width and height.
 * @type {Record<Exclude<Spot, "whole">, [number, number]>} */
const AT = {
  "middle": [0.5, 0.5], "top-left": [0, 0], "top-right": [1, 0], "bottom-right": [1, 1], "bottom-left": [0, 1],
};

export class Zoom {
  /** @type {HTMLCanvasElement} */
  #canvas;
  #scale = 1;
  /** The point of the picture that is in the middle, as shares. */
  #x = 0.5;
  #y = 0.5;
  /** @type {Spot} */
  #spot = "whole";
  /** @type {Map<number, {x: number, y: number}>} */
  #fingers = new Map();

  /** @param {HTMLCanvasElement} canvas */
  constructor(canvas) {
    this.#canvas = canvas;
    canvas.addEventListener("pointerdown", this.#down);
    canvas.addEventListener("pointermove", this.#move);
    canvas.addEventListener("pointerup", this.#up);
    canvas.addEventListener("pointercancel", this.#up);
    canvas.addEventListener("wheel", this.#wheel, { passive: false });
    canvas.addEventListener("dblclick", () => this.#set(1, 0.5, 0.5));
  }

  /** Show a spot, if it is another one than before. @param {Spot} spot */
  to(spot) {
    if (spot !== this.#spot) {
      this.#spot = spot;
      const [x, y] = spot === "whole" ? [0.5, 0.5] : AT[spot];
      this.#set(spot === "whole" ? 1 : this.#full(), x, y);
    }
    this.apply();
  }

  /** Once more, after the picture or its place has changed. */
  apply() {
    const half = 0.5 / this.#scale;
    this.#x = Math.min(1 - half, Math.max(half, this.#x));
    this.#y = Math.min(1 - half, Math.max(half, this.#y));
    const [dx, dy] = [0.5 - this.#x, 0.5 - this.#y].map((d) => `${(100 * d).toFixed(2)}%`);
    const wanted = this.#scale === 1 ? "" : `scale(${this.#scale.toFixed(3)}) translate(${dx}, ${dy})`;
    if (this.#canvas.style.transform !== wanted) this.#canvas.style.transform = wanted;
    // A picture that fills the page lets one finger scroll the page; an enlarged one is moved by it.
    this.#canvas.style.touchAction = this.#scale === 1 ? "pan-y" : "none";
  }

  /** The scale at which a pixel of the picture is one of the screen. */
  #full() {
    const shown = this.#canvas.offsetWidth * devicePixelRatio;
    return Math.min(MOST, Math.max(1, shown ? this.#canvas.width / shown : 1, 2));
  }

  /** @param {number} scale @param {number} x @param {number} y */
  #set(scale, x, y) {
    this.#scale = Math.min(MOST, Math.max(1, scale));
    [this.#x, this.#y] = [x, y];
    this.apply();
  }

  /** @param {PointerEvent} event */
  #down = (event) => {
    this.#fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (this.#scale > 1 || this.#fingers.size > 1) this.#canvas.setPointerCapture(event.pointerId);
  };

  /** @param {PointerEvent} event */
  #up = (event) => {
    this.#fingers.delete(event.pointerId);
  };

  /** @param {PointerEvent} event */
  #move = (event) => {
    const before = this.#fingers.get(event.pointerId);
    if (!before) return;
    const others = [...this.#fingers].filter(([id]) => id !== event.pointerId).map(([, at]) => at);
    const now = { x: event.clientX, y: event.clientY };
    const grown = others.length ? apart(now, others[0]) / Math.max(1, apart(before, others[0])) : 1;
    const { offsetWidth: width, offsetHeight: height } = this.#canvas;
    const scale = this.#scale * grown;
    this.#set(scale, this.#x - (now.x - before.x) / (width * scale), this.#y - (now.y - before.y) / (height * scale));
    this.#fingers.set(event.pointerId, now);
  };

  /** @param {WheelEvent} event */
  #wheel = (event) => {
    if (!event.ctrlKey && this.#scale === 1) return; // the wheel alone scrolls the page; with Ctrl, as pads pinch
    event.preventDefault();
    this.#set(this.#scale * Math.exp(-event.deltaY / 300), this.#x, this.#y);
  };
}

/** @param {{x: number, y: number}} a @param {{x: number, y: number}} b */
function apart(a, b) {
  return Math.hypot(a.x - b.x, a.y - b.y);
}
