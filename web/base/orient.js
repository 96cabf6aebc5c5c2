// How a picture is turned and mirrored before it is shown.

/** @typedef {import("../state/types.js").Strip} Strip */
/** @typedef {{turn: 0 | 90 | 180 | 270, mirror: boolean}} Way first mirrored left to right, then turned clockwise */

/**
 * The way a picture of that strip is shown. As it lies: only how the camera sits is undone, so that the film moves on
 * the screen as the hand moves it. So that it reads: film with its emulsion side up is seen from behind and mirrored
 * back, and a strip that lies turned is turned back. (A mirror after a turn is that mirror before the opposite turn.)
 * @param {Strip | null} strip
 * @param {{mount: number, reads: boolean}} prefs
 * @returns {Way}
 */
export function wayOf(strip, { mount, reads }) {
  const mirror = reads && strip?.emulsion === "up";
  const back = reads ? strip?.turn ?? 0 : 0;
  const turn = mirror ? back - mount : back + mount;
  return { turn: /** @type {Way["turn"]} */ ((((turn % 360) + 360) % 360)), mirror };
}

/** What is done to the picture beside the camera's own turn, in words; "" for nothing. @param {Strip | null} strip
 * @param {boolean} reads */
export function wayWords(strip, reads) {
  if (!reads || !strip) return "";
  return [strip.emulsion === "up" && "mirrored", strip.turn && "turned by half"].filter(Boolean).join(", ");
}

/** Draw `picture` onto `canvas`, which takes its size from it. @param {HTMLCanvasElement} canvas
 * @param {ImageBitmap | HTMLImageElement} picture @param {Way} way */
export function paint(canvas, picture, { turn, mirror }) {
  const [width, height] = [picture.width, picture.height];
  const across = turn === 90 || turn === 270;
  const [wide, high] = across ? [height, width] : [width, height];
  if (canvas.width !== wide || canvas.height !== high) Object.assign(canvas, { width: wide, height: high });
  const at = canvas.getContext("2d");
  if (!at) return;
  at.setTransform(1, 0, 0, 1, wide / 2, high / 2);
  at.rotate((turn * Math.PI) / 180);
  if (mirror) at.scale(-1, 1);
  at.drawImage(picture, -width / 2, -height / 2);
}

/** Where a point of the sensor lies on the screen, both as shares of width and height.
 * @param {[number, number]} point @param {Way} way @returns {[number, number]} */
export function placed([x, y], { turn, mirror }) {
  const across = mirror ? 1 - x : x;
  switch (turn) {
    case 90: return [1 - y, across];
    case 180: return [1 - across, 1 - y];
    case 270: return [y, 1 - across];
    default: return [across, y];
  }
}

const CORNERS = /** @type {const} */ (["top-left", "top-right", "bottom-right", "bottom-left"]);

/** @typedef {"middle" | typeof CORNERS[number]} Spot */

/** Which spot of the sensor lies where `shown` is on the screen. @param {Spot} shown @param {Way} way @returns {Spot} */
export function sensorSpot(shown, { turn, mirror }) {
  const at = CORNERS.indexOf(/** @type {typeof CORNERS[number]} */ (shown));
  if (at < 0) return "middle";
  const before = (at - turn / 90 + 4) % 4;
  return CORNERS[mirror ? [1, 0, 3, 2][before] : before];
}
