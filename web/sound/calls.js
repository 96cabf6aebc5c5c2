// Which event has which sound, and which words.

import { otherHand } from "../state/people.js";
import { store } from "../state/store.js";
import { speak } from "./speech.js";
import { tones } from "./tones.js";

/** The film may be moved when the frame is done with, not when one of its files is safe: another take may follow. A strip
 * that the advancer has brought to its end calls for the next one.
 * @type {Record<string, import("./tones.js").Sound>} */
const SOUNDS = { Exposed: "closed", Advanced: "safe", Troubled: "call", FilmEnded: "call" };

/** @param {import("../state/types.js").LedgerEvent} event */
export function soundFor(event) {
  const sound = event.type === "Judged" && event.decision === "retake" ? "again" : SOUNDS[event.type];
  if (sound) void tones.play(sound);
  if (event.type === "FilmEnded") speak("That strip is through. The next one, please.");
  if (event.type === "Troubled") speak(`${event.what} ${event.remedy}`);
}

/** What comes otherwise than as an event: a command that was not carried out, wherever it came from; another hand at
 * the rig; where to slide the film. */
export function soundNotices() {
  let { refusal } = store.view;
  let other = otherHand(store.view);
  let where = "";
  store.subscribe((view) => {
    if (view.refusal && view.refusal !== refusal) void tones.play("refused");
    refusal = view.refusal;
    const hand = otherHand(view);
    if (hand && hand !== other) void tones.play("hand");
    other = hand;
    const now = view.state?.armed ? view.vitals?.where ?? "" : "";
    if (now !== where) speak(now);
    where = now;
  });
}
