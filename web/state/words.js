// Numbers and findings in words that can be read from a distance.

/** @typedef {import("./types.js").Take} Take */
/** @typedef {import("./types.js").Exposure} Exposure */

/** Nominal shutter times in thirds of a stop, in seconds: names for times that come as numbers.
 * Common practice: the series that shutter dials and menus print. */
const FRACTIONS = [
  8000, 6400, 5000, 4000, 3200, 2500, 2000, 1600, 1250, 1000, 800, 640, 500, 400, 320, 250, 200, 160, 125, 100, 80, 60,
  50, 40, 30, 25, 20, 15, 13, 10, 8, 6, 5, 4,
];

/** A shutter time as it is printed on a dial. @param {number} seconds */
export function shutterWords(seconds) {
  if (seconds >= 0.285) return `${Number(seconds.toFixed(1))} s`;
  const near = FRACTIONS.reduce((a, b) => (off(b, seconds) < off(a, seconds) ? b : a));
  return `1/${off(near, seconds) < 1 / 6 ? near : Math.round(1 / seconds)} s`;
}

/** @param {number} fraction @param {number} seconds */
function off(fraction, seconds) {
  return Math.abs(Math.log2(fraction * seconds));
}

/** How far from one time to another, in thirds of a stop, in words. @param {number} from @param {number} to */
export function changeWords(from, to) {
  const thirds = Math.round(3 * Math.log2(to / from));
  if (thirds === 0) return "unchanged";
  return `${stopWords(Math.abs(thirds))} ${thirds > 0 ? "longer" : "shorter"}`;
}

/** @param {number} thirds */
function stopWords(thirds) {
  const whole = Math.floor(thirds / 3);
  const rest = ["", "⅓", "⅔"][thirds % 3];
  return `${whole || ""}${rest} stop${whole > 1 || (whole === 1 && rest) ? "s" : ""}`;
}

/** @type {Record<string, string>} What a take is worth, as a sentence's beginning. */
const QUALITY = {
  good: "Good", low: "Too little light", high: "Too much light", clipped: "Burnt out",
  exceeds: "More range than one take holds",
  soft: "Not sharp", misplaced: "Not in place", stale: "An old picture came back", suspect: "Doubtful",
};

/** @type {Record<string, string>} */
export const FILM = { picture: "picture", unexposed: "unexposed", fogged: "fogged", "no film": "no film" };

/** The finding on a take in a few words. @param {Take} take */
export function verdictWords(take) {
  if (take.stage === "lost") return "Lost";
  if (!take.verdict) return "";
  const film = take.verdict.film;
  const quality = QUALITY[take.verdict.take] ?? take.verdict.take;
  return film && film !== "picture" ? `${sentence(FILM[film])}` : quality;
}

/** What became of it; nothing where somebody has to say. Kept once, and no more: another take counts now. @param {Take} take @param {boolean} kept */
export function outcomeWords(take, kept) {
  if (kept) return "kept";
  return take.decision ? { keep: "replaced", retake: "again", ask: "", stop: "stopped" }[take.decision] : "";
}

/** @param {string} text */
export function sentence(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
