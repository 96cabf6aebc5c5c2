// Counting pixels over stops under saturation, on the same scale as the daemon does for raw files.

/**
 * @typedef {{from: number, step: number, channels: number[][], over: number[] | null}} Histogram
 *   `channels`: shares of pixels of R, G, B; `over`: per cent of each over the ceiling, where it is known
 */

// The scale of the daemon's histogram: sixths of a stop over twelve stops, the range of a 14-bit raw file.
export const FROM = -12;
export const BINS = 72;
export const STEP = 1 / 6;

/**
 * For each 8-bit value the bins it belongs to, with its share of each: a value stands for all between its neighbours,
 * so that the coarse steps of the dark end leave no comb. Decoding by the sRGB curve (IEC 61966-2-1).
 * @type {[number, number][][]}
 */
const PLACES = Array.from({ length: 256 }, (_, value) => spread(stops(value - 0.5), stops(value + 0.5)));

// The ceiling of the definition of exposure, in stops under saturation.
export const CEILING = -0.15;

/** @param {number} value an 8-bit value, fractions allowed */
function stops(value) {
  const v = Math.min(255, Math.max(0.25, value)) / 255;
  return Math.log2(v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
}

/** The first 8-bit value over the ceiling. */
const FIRST_OVER = Array.from({ length: 256 }, (_, value) => value).findIndex((value) => stops(value) > CEILING);

/** @param {number} low @param {number} high @returns {[number, number][]} */
function spread(low, high) {
  /** @type {[number, number][]} */
  const places = [];
  const [a, b] = [low, high].map((l) => Math.min(BINS - 1e-6, Math.max(0, (l - FROM) / STEP)));
  if (b - a < 1e-6) return [[Math.floor(a), 1]];
  for (let bin = Math.floor(a); bin <= Math.floor(b); bin++) {
    places.push([bin, (Math.min(b, bin + 1) - Math.max(a, bin)) / (b - a)]);
  }
  return places;
}

/**
 * The histogram of RGBA pixels of a decoded picture in sRGB.
 * @param {Uint8ClampedArray} pixels
 * @returns {Histogram}
 */
export function measure(pixels) {
  const values = [new Uint32Array(256), new Uint32Array(256), new Uint32Array(256)];
  for (let i = 0; i < pixels.length; i += 4) {
    values[0][pixels[i]]++;
    values[1][pixels[i + 1]]++;
    values[2][pixels[i + 2]]++;
  }
  const total = pixels.length / 4;
  const over = values.map((counts) => (100 * counts.subarray(FIRST_OVER).reduce((a, b) => a + b, 0)) / total);
  return { from: FROM, step: STEP, channels: values.map((counts) => placed(counts, total)), over };
}

/** @param {Uint32Array} counts @param {number} total */
function placed(counts, total) {
  const bins = new Array(BINS).fill(0);
  counts.forEach((count, value) => {
    for (const [bin, share] of PLACES[value]) bins[bin] += (share * count) / total;
  });
  return bins;
}

/**
 * Counts as the daemon sends them, as shares.
 * @param {{from_stops: number, step: number, channels: {counts: number[]}[]}} sent
 * @returns {Histogram}
 */
export function fromDaemon(sent) {
  const channels = sent.channels.map(({ counts }) => {
    const total = counts.reduce((a, b) => a + b, 0) || 1;
    return counts.map((count) => count / total);
  });
  return { from: sent.from_stops, step: sent.step, channels, over: null };
}
