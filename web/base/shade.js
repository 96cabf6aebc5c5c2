// Pictures give no more light than the dark room can bear: each is dimmed by how bright it is itself, so that a bare
// lamp is no lamp, and a dark negative can still be seen.

// The mean that a dimmed picture may have, as a share of white. With pictures on two fifths of a phone's page that is
// five thousandths of the page's white; letters and lines give about two and a half times as much.
const MEAN = 0.013;
const DARKEST = 0.12;
const STEPS = 24;

/** sRGB bytes to shares of white (IEC 61966-2-1). */
const LINEAR = Float32Array.from({ length: 256 }, (_, value) => {
  const v = value / 255;
  return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
});

const small = document.createElement("canvas");
Object.assign(small, { width: 48, height: 32 });

/** Mean luminance of RGBA pixels, 0 to 1 (Rec. 709 weights). @param {Uint8ClampedArray} pixels */
export function luminance(pixels) {
  let sum = 0;
  for (let i = 0; i < pixels.length; i += 4) {
    sum += 0.2126 * LINEAR[pixels[i]] + 0.7152 * LINEAR[pixels[i + 1]] + 0.0722 * LINEAR[pixels[i + 2]];
  }
  return sum / (pixels.length / 4);
}

/** How far to dim a picture of that mean: a factor on its encoded values. @param {number} mean */
export function shadeFor(mean) {
  const wanted = Math.min(1, (MEAN / Math.max(mean, 1e-4)) ** (1 / 2.2));
  return Math.max(DARKEST, Math.round(wanted * STEPS) / STEPS);
}

/** Tell the styles how far to dim what is drawn on a canvas. @param {HTMLCanvasElement} canvas */
export function shade(canvas) {
  const at = small.getContext("2d", { willReadFrequently: true });
  if (!at || !canvas.width) return;
  at.clearRect(0, 0, small.width, small.height);
  at.drawImage(canvas, 0, 0, small.width, small.height);
  const factor = String(shadeFor(luminance(at.getImageData(0, 0, small.width, small.height).data)));
  if (canvas.style.getPropertyValue("--shade") !== factor) canvas.style.setProperty("--shade", factor);
}
