// The fold, as rigd/model/reduce.py has it: one small function an event. Held equal by tests/data/vectors.

import { changedFrame, changedTake, doneWith, rollOf, takeOf, withFrame, withRoll, withTake } from "./copies.js";
import { EXPOSING_STEPS, released } from "./exposing.js";
import { FEED_STEPS } from "./feed.js";
import { LATER_STEPS } from "./later.js";

/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").Committed} Committed */
/** @typedef {import("./types.js").Roll} Roll */
/** @typedef {import("./types.js").RollState} RollState */
/** @typedef {import("./types.js").Strip} Strip */
/** @typedef {import("./types.js").Take} Take */

/** The state of an empty ledger. @type {State} */
export const EMPTY = Object.freeze({
  seq: 0, job: null, setup: null, lamp: null, rolls: {}, loose: {}, roll_id: null, strip_id: null, frame_id: null,
  next_place: null, working: null, next_shutter_s: null, moving: null, unclaimed: 0, trouble: null, paused: false,
  camera: "", serial: "", frame_count: 0, take_count: 0, strip_count: 0, roll_count: 0, back: null, marked: null,
  strays: {}, dismissed: {}, checked: 0, check: null, armed: false, disarmed: "", gear: null,
  stopped: "",
});

/** What is longer than this, in seconds, is a break and no part of the cadence. */
const BREAK_S = 180;

/**
 * The state after one more committed event, whose `seq` follows that of `state`.
 * @param {State} state
 * @param {Committed} committed
 * @returns {State}
 */
export function reduce(state, committed) {
  const step = STEPS[committed.event.type];
  const after = { ...(step ? step(state, committed.event) : state), seq: committed.seq };
  return clocked(after, committed);
}

/** Keep the times of takes and rolls: the cadence comes from them.
 * @param {State} state @param {Committed} committed @returns {State} */
function clocked(state, { at, event }) {
  if (event.type === "Exposed") return changedTake(state, event.take_id, { at });
  const take = event.type === "Stored" ? takeOf(state, event.take_id) : null;
  const roll = take && rollOf(state, take.frame_id);
  return take && roll ? withRoll(state, paced(roll, take, at)) : state;
}

/** @param {RollState} roll @param {Take} take @param {string} at @returns {RollState} */
function paced(roll, take, at) {
  const gap = roll.last_at ? (Date.parse(at) - Date.parse(roll.last_at)) / 1000 : -1;
  const timed = { ...roll, first_at: roll.first_at ?? at, last_at: at };
  if (gap < 0 || gap > BREAK_S) return timed;
  const others = (roll.frames[take.frame_id ?? ""]?.takes ?? []).filter((id) => id !== take.take_id);
  const fresh = !others.some((id) => roll.takes[id]?.path);
  return { ...timed, worked_s: roll.worked_s + gap, paced: roll.paced + (fresh ? 1 : 0) };
}

/** A roll with nothing in it yet. @param {Roll} roll @param {number} place @returns {RollState} */
function emptyRoll(roll, place) {
  return {
    roll, strips: {}, frames: {}, takes: {}, closed: false, first_at: null, last_at: null, worked_s: 0, paced: 0,
    heeded: "", place, held: null,
  };
}

/** The place after the furthest one that was reached on the strip; null if it is through.
 * @param {RollState} roll @param {Strip} strip */
function firstFree(roll, strip) {
  const places = Object.values(roll.frames).filter((f) => f.frame.strip_id === strip.strip_id).map((f) => f.frame.place);
  const place = 1 + Math.max(0, ...places);
  return strip.places === null || place <= strip.places ? place : null;
}

/** Where the film goes on after a recalled frame, and the place that comes next meanwhile.
 * @param {State} state @param {string} frameId @returns {{back: State["back"], next_place: number | null}} */
function wayBack(state, frameId) {
  const { back, roll_id, strip_id, frame_id, next_place } = state;
  if (!back) return { back: frame_id === frameId ? null : { of: frameId, roll_id, strip_id, frame_id, next_place }, next_place };
  if (back.frame_id === frameId) return { back: null, next_place: back.next_place };
  return { back: { ...back, of: frameId }, next_place };
}

/** @param {State} state @param {any} e @returns {State} */
function advanced(state, e) {
  const { back } = state;
  if (back && back.of === e.frame_id) {
    const { roll_id, strip_id, frame_id, next_place } = back;
    return { ...state, roll_id, strip_id, frame_id, next_place, back: null };
  }
  const strip_id = e.next_place ? state.strip_id : null;
  return { ...state, frame_id: null, strip_id, next_place: e.next_place, back: null };
}

/** @type {Record<string, (state: State, e: any) => State>} */
const STEPS = {
  JobOpened: (state, e) => ({ ...state, job: e.job }),
  SetupDescribed: (state, e) => {
    const fresh = state.setup?.setup_id !== e.setup.setup_id;
    return { ...state, setup: e.setup, ...(fresh ? { lamp: null, next_shutter_s: null, gear: null, rolls: released(state.rolls) } : {}) };
  },
  LampMeasured: (state, e) => ({ ...state, lamp: e }),

  RollPlanned: (state, e) => {
    const known = state.rolls[e.roll.roll_id];
    if (known) return withRoll(state, { ...known, roll: e.roll });
    const place = state.roll_count + 1;
    return withRoll({ ...state, roll_count: place }, emptyRoll(e.roll, place));
  },
  RollChanged: (state, e) => {
    const roll = state.rolls[e.roll.roll_id];
    return roll ? withRoll(state, { ...roll, roll: e.roll }) : state;
  },
  RollOpened: (state, e) => {
    const opened = { ...state, roll_id: e.roll_id, strip_id: null, frame_id: null, next_place: null, back: null };
    return withRoll(opened, { ...opened.rolls[e.roll_id], closed: false });
  },
  RollClosed: (state, e) => {
    const closed = withRoll(state, { ...state.rolls[e.roll_id], closed: true });
    if (state.roll_id !== e.roll_id) return closed;
    return { ...closed, strip_id: null, frame_id: null, next_place: null, back: null };
  },
  StripLoaded: (state, e) => {
    const roll = state.rolls[e.strip.roll_id];
    const known = e.strip.strip_id in roll.strips;
    const place = firstFree(roll, e.strip);
    return {
      ...withRoll(state, { ...roll, strips: { ...roll.strips, [e.strip.strip_id]: e.strip } }),
      roll_id: e.strip.roll_id, strip_id: place ? e.strip.strip_id : null, frame_id: null, next_place: place,
      strip_count: state.strip_count + (known ? 0 : 1), back: null, moving: null,
    };
  },
  FramePlaced: (state, e) => ({
    ...withFrame(state, {
      frame: e.frame, takes: [], keeper: [], film: null, by: "", skipped: false, judged: null, marks: [], again: "",
      doubt: "", accepted: false, about: {},
    }),
    roll_id: e.frame.roll_id, strip_id: e.frame.strip_id, frame_id: e.frame.frame_id,
    frame_count: state.frame_count + 1, back: null,
  }),
  FrameRecalled: (state, e) => {
    const roll = rollOf(state, e.frame_id);
    if (!roll) return state;
    const strip_id = roll.frames[e.frame_id].frame.strip_id;
    return { ...state, ...wayBack(state, e.frame_id), roll_id: roll.roll.roll_id, strip_id, frame_id: e.frame_id };
  },

  ExposureIntended: (state, e) => {
    const taken = {
      ...withTake(state, {
        take_id: e.take_id, frame_id: e.frame_id, purpose: e.purpose, number: e.number, want: e.want,
        stage: "intended", files: [], path: "", sha256: "", bytes: 0, verdict: null, decision: null, why: "",
        verified: false, lost_why: "", roll_id: e.roll_id ?? null, strip_id: e.strip_id ?? null, at: null, copied: [],
        cleared: false,
      }),
      working: e.take_id, take_count: state.take_count + 1,
    };
    const frame = rollOf(taken, e.frame_id)?.frames[e.frame_id];
    return frame ? withFrame(taken, { ...frame, takes: [...frame.takes, e.take_id], skipped: false }) : taken;
  },
  Exposed: (state, e) => changedTake(state, e.take_id, { stage: "exposed", files: e.files }),
  Fetched: (state, e) => changedTake(state, e.take_id, { stage: "fetched", bytes: e.bytes }),
  Stored: (state, e) => {
    const { path, sha256, bytes } = e;
    const stored = changedTake(state, e.take_id, { stage: "stored", path, sha256, bytes });
    return takeOf(stored, e.take_id)?.frame_id === null ? doneWith(stored, e.take_id) : stored;
  },
  Judged: (state, e) => {
    const { verdict, decision, why } = e;
    const judged = doneWith(changedTake(state, e.take_id, { stage: "judged", verdict, decision, why }), e.take_id);
    return { ...judged, next_shutter_s: e.next_shutter_s ?? state.next_shutter_s };
  },
  TakeLost: (state, e) => doneWith(changedTake(state, e.take_id, { stage: "lost", lost_why: e.why }), e.take_id),
  KeeperChosen: (state, e) =>
    changedFrame(state, e.frame_id, {
      keeper: e.takes, film: e.film, by: e.by, skipped: false, judged: e.film, marks: [], again: "", doubt: "",
      accepted: e.by !== "rigd",
    }),
  FrameSkipped: (state, e) => changedFrame(state, e.frame_id, { skipped: true }),
  Advanced: advanced,

  Verified: (state, e) => changedTake(state, e.take_id, { verified: true }),
  Damaged: (state, e) => changedTake(state, e.take_id, { verified: false, lost_why: e.why }),
  CameraJoined: (state, e) => ({ ...state, camera: e.model, serial: e.serial }),
  Troubled: (state, e) => ({ ...state, trouble: e }),
  TroubleOver: (state) => ({ ...state, trouble: null }),
  Paused: (state) => ({ ...state, paused: true }),
  Resumed: (state) => ({ ...state, paused: false }),
  Armed: (state) => ({ ...state, armed: true, disarmed: "" }),
  Disarmed: (state, e) => ({ ...state, armed: false, disarmed: e.by === "rigd" ? e.why : "" }),
  ...LATER_STEPS,
  ...FEED_STEPS,
  ...EXPOSING_STEPS,
};
