// A voice, where the browser has one and somebody asked for it: what is needed, and where to slide the film.

import { screenPrefs } from "../base/prefs.js";

/** True if this browser can speak at all. */
export const canSpeak = typeof speechSynthesis !== "undefined";

let last = "";

/** Say something, in place of what was still being said; the same words only once in a row. @param {string} words */
export function speak(words) {
  if (!canSpeak || !screenPrefs.now.speech || screenPrefs.now.muted || words === last) return;
  last = words;
  speechSynthesis.cancel();
  if (!words) return;
  const said = new SpeechSynthesisUtterance(words);
  said.lang = "en";
  said.volume = screenPrefs.now.volume;
  speechSynthesis.speak(said);
}
