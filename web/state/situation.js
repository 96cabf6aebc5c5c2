// What the operator should do now, in one word and one sentence. Pure: a view in, words out.

import { currentRoll } from "./copies.js";

/** @typedef {import("./store.js").View} View */
/** @typedef {"ready" | "armed" | "left" | "right" | "still" | "wait" | "move" | "call" | "rest" | "away"} Mood */
/** @typedef {{mood: Mood, word: string, line: string}} Situation */

/** @param {View} view @returns {Situation} */
export function situation(view) {
  return fromLink(view) ?? fromRecovery(view) ?? fromTrouble(view) ?? fromMotor(view) ?? fromWork(view) ?? fromPlan(view)
    ?? fromWatch(view) ?? ready(view);
}

/** The frame that a trigger would take, in words. @param {View} view */
export function nextPlace(view) {
  const state = view.state;
  const roll = state && currentRoll(state);
  if (!state || !roll || roll.closed) return null;
  const held = state.frame_id ? roll.frames[state.frame_id] : null;
  const frame = held?.frame ?? null;
  const strip = state.strip_id ? roll.strips[state.strip_id] : null;
  const place = frame?.place ?? (strip ? state.next_place : null) ?? 1;
  const numbers = Object.values(roll.strips).map((s) => s.number);
  const number = strip && (frame || state.next_place) ? strip.number : Math.max(0, ...numbers) + 1;
  const places = strip?.places ?? roll.roll.strip_places;
  return { strip: number, place, places, again: (held?.takes.length ?? 0) > 0 };
}

/**
 * The thing that a trigger would take, as the daemon names it: `strip#place`.
 * @param {View} view
 * @returns {string | null}
 */
export function target(view) {
  const state = view.state;
  const roll = state && currentRoll(state);
  if (!state || !roll || roll.closed) return null;
  const frame = state.frame_id ? roll.frames[state.frame_id]?.frame : null;
  if (frame) return `${frame.strip_id}#${frame.place}`;
  return state.strip_id && state.next_place ? `${state.strip_id}#${state.next_place}` : "new#1";
}

/** @param {View} view @returns {Situation | null} */
function fromLink(view) {
  if (view.link === "shut") {
    return { mood: "away", word: "Locked", line: "This device has not been let in yet." };
  }
  if (view.link === "lost") {
    return { mood: "away", word: "No link", line: "The daemon does not answer. Trying again by itself." };
  }
  return view.state ? null : { mood: "rest", word: "Linking", line: "Asking the daemon how things stand." };
}

/** While what went wrong is being put right, there is nothing to do. @param {View} view @returns {Situation | null} */
function fromRecovery(view) {
  const phase = view.vitals?.phase ?? "idle";
  if (phase === "reconnect") return { mood: "wait", word: "Wait", line: "The camera went away. Winning it back." };
  const working = view.state?.trouble && ["expose", "fetch", "store", "judge"].includes(phase);
  return working ? { mood: "wait", word: "Wait", line: "Finishing what was left half done." } : null;
}

/** @param {View} view @returns {Situation | null} */
function fromTrouble(view) {
  if (view.vitals && !view.vitals.ledger_ok) {
    return { mood: "call", word: "Needs you", line: "The ledger cannot be written. Stop, and look at the disk." };
  }
  const trouble = view.state?.trouble;
  return trouble ? { mood: "call", word: "Needs you", line: trouble.what } : null;
}

/** What moves by itself, and what was stopped. @param {View} view @returns {Situation | null} */
function fromMotor({ state }) {
  if (state?.moving) return { mood: "still", word: "Hands off", line: "The advancer is moving the film." };
  if (state?.stopped) {
    return { mood: "call", word: "Stopped", line: `The film was stopped: ${state.stopped}. Lift the stop once it lies in order.` };
  }
  return null;
}

/** @param {View} view @returns {Situation | null} */
function fromWork(view) {
  switch (view.moment.step) {
    case "settle":
      return { mood: "still", word: "Hands off", line: "Waiting until nothing moves." };
    case "expose":
      return { mood: "still", word: "Hands off", line: "The shutter is open." };
    case "fetch":
    case "store":
      return { mood: "wait", word: "Wait", line: "Shutter closed. The file is on its way; leave the film." };
    case "judge":
      return { mood: "wait", word: "Wait", line: "The file is safe. Looking at it; leave the film." };
    default:
      return null;
  }
}

/** @param {View} view @returns {Situation | null} */
function fromPlan(view) {
  const state = view.state;
  if (!state) return null;
  const roll = currentRoll(state);
  if (!state.job) return { mood: "rest", word: "Begin", line: "Name the job, then plan its first roll." };
  if (!roll) return { mood: "rest", word: "No roll", line: "Plan a roll, or open one." };
  const name = roll.roll.label;
  if (roll.closed) return { mood: "rest", word: "Roll done", line: `${name} is through. Open the next roll.` };
  if (state.paused) return { mood: "rest", word: "Paused", line: "Nothing is exposed until you resume." };
  return null;
}

/** Armed, the rig triggers by itself: what it sees in the gate, and where to slide. @param {View} view
 * @returns {Situation | null} */
function fromWatch(view) {
  if (!view.state?.armed) return null;
  const { where = "", nudge_mm: nudge = null, watch = "" } = view.vitals ?? {};
  if (watch === "moving") return { mood: "armed", word: "Armed", line: where || "Let the film come to rest." };
  if (nudge) return { mood: nudge > 0 ? "right" : "left", word: `${Math.abs(nudge)} mm`, line: where };
  const fed = view.vitals?.board_ok && watch === "busy" && nextPlace(view)?.place === 1;
  if (fed) return { mood: "armed", word: "Next strip", line: "Push it in until the film sensor has it; the advancer does the rest." };
  return { mood: "armed", word: "Armed", line: where || "Bring the next frame into the gate; it is taken by itself." };
}

/** @param {View} view @returns {Situation} */
function ready(view) {
  const next = nextPlace(view);
  const where = next ? `strip ${next.strip}, place ${next.place}` : "";
  if (next?.again) return { mood: "ready", word: "Ready", line: `Press to take ${where} again.` };
  if (view.moment.step !== "advance") {
    return { mood: "ready", word: "Ready", line: `Press when ${where} lies in the gate.` };
  }
  const through = `That strip is through. Lay in strip ${next?.strip}, then press.`;
  const line = next?.place === 1 ? through : `Bring ${where} into the gate, then press.`;
  return { mood: "move", word: "Move on", line };
}
