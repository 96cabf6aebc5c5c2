// The fold, as rigd/model/reduce.py has it: one small function an event. Held equal by tests/data/vectors.

import {
  changedFrame,
  changedTake,
  currentRoll,
  doneWith,
  rollOf,
  withFrame,
  withRoll,
  withTake,
} from "./copies.js";

/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").Committed} Committed */

/** The state of an empty ledger. @type {State} */
export const EMPTY = Object.freeze({
  seq: 0, job: null, setup: null, lamp: null, rolls: {}, loose: {}, roll_id: null, strip_id: null, frame_id: null,
  next_place: null, working: null, next_shutter_s: null, moving: null, unclaimed: 0, trouble: null, paused: false,
  camera: "", serial: "", frame_count: 0, take_count: 0, strip_count: 0,
});

/**
 * The state after one more committed event, whose `seq` follows that of `state`.
 * @param {State} state
 * @param {Committed} committed
 * @returns {State}
 */
export function reduce(state, committed) {
  const step = STEPS[committed.event.type];
  const after = { ...(step ? step(state, committed.event) : state), seq: committed.seq };
  return committed.event.type === "Stored" ? clocked(after, committed.at) : after;
}

/** The time of the first and the last stored take of the current roll: the cadence comes from them.
 * @param {State} state @param {string} at @returns {State} */
function clocked(state, at) {
  const roll = currentRoll(state);
  return roll ? withRoll(state, { ...roll, first_at: roll.first_at ?? at, last_at: at }) : state;
}

/** @type {Record<string, (state: State, e: any) => State>} */
const STEPS = {
  JobOpened: (state, e) => ({ ...state, job: e.job }),
  SetupDescribed: (state, e) => {
    const fresh = state.setup?.setup_id !== e.setup.setup_id;
    return { ...state, setup: e.setup, ...(fresh ? { lamp: null, next_shutter_s: null } : {}) };
  },
  LampMeasured: (state, e) => ({ ...state, lamp: e }),

  RollPlanned: (state, e) =>
    withRoll(state, {
      roll: e.roll, strips: {}, frames: {}, takes: {}, closed: false, first_at: null, last_at: null,
    }),
  RollChanged: (state, e) => {
    const roll = state.rolls[e.roll.roll_id];
    return roll ? withRoll(state, { ...roll, roll: e.roll }) : state;
  },
  RollOpened: (state, e) => {
    const opened = { ...state, roll_id: e.roll_id, strip_id: null, frame_id: null, next_place: null };
    return withRoll(opened, { ...opened.rolls[e.roll_id], closed: false });
  },
  RollClosed: (state, e) => {
    const closed = withRoll(state, { ...state.rolls[e.roll_id], closed: true });
    if (state.roll_id !== e.roll_id) return closed;
    return { ...closed, strip_id: null, frame_id: null, next_place: null };
  },
  StripLoaded: (state, e) => {
    const roll = state.rolls[e.strip.roll_id];
    const known = e.strip.strip_id in roll.strips;
    return {
      ...withRoll(state, { ...roll, strips: { ...roll.strips, [e.strip.strip_id]: e.strip } }),
      roll_id: e.strip.roll_id, strip_id: e.strip.strip_id, frame_id: null, next_place: 1,
      strip_count: state.strip_count + (known ? 0 : 1),
    };
  },
  FramePlaced: (state, e) => ({
    ...withFrame(state, { frame: e.frame, takes: [], keeper: [], film: null, by: "", skipped: false }),
    roll_id: e.frame.roll_id, strip_id: e.frame.strip_id, frame_id: e.frame.frame_id,
    frame_count: state.frame_count + 1,
  }),
  FrameRecalled: (state, e) => {
    const roll = rollOf(state, e.frame_id);
    if (!roll) return state;
    const strip_id = roll.frames[e.frame_id].frame.strip_id;
    return { ...state, roll_id: roll.roll.roll_id, strip_id, frame_id: e.frame_id };
  },

  ExposureIntended: (state, e) => {
    const taken = {
      ...withTake(state, {
        take_id: e.take_id, frame_id: e.frame_id, purpose: e.purpose, number: e.number, want: e.want,
        stage: "intended", files: [], path: "", sha256: "", bytes: 0, verdict: null, decision: null, why: "",
        verified: false, lost_why: "",
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
    return e.take_id in stored.loose ? doneWith(stored, e.take_id) : stored;
  },
  Judged: (state, e) => {
    const { verdict, decision, why } = e;
    const judged = doneWith(changedTake(state, e.take_id, { stage: "judged", verdict, decision, why }), e.take_id);
    return { ...judged, next_shutter_s: e.next_shutter_s ?? state.next_shutter_s };
  },
  TakeLost: (state, e) => doneWith(changedTake(state, e.take_id, { stage: "lost", lost_why: e.why }), e.take_id),
  KeeperChosen: (state, e) =>
    changedFrame(state, e.frame_id, { keeper: e.takes, film: e.film, by: e.by, skipped: false }),
  FrameMarked: (state, e) => changedFrame(state, e.frame_id, { film: e.film, by: e.by }),
  FrameSkipped: (state, e) => changedFrame(state, e.frame_id, { skipped: true }),
  MoveIntended: (state, e) => ({ ...state, moving: e.frame_id }),
  Advanced: (state, e) => ({
    ...state, frame_id: null, moving: null, strip_id: e.next_place ? state.strip_id : null,
    next_place: e.next_place,
  }),

  Verified: (state, e) => changedTake(state, e.take_id, { verified: true }),
  Damaged: (state, e) => changedTake(state, e.take_id, { verified: false, lost_why: e.why }),
  Unclaimed: (state) => ({ ...state, unclaimed: state.unclaimed + 1 }),
  CameraJoined: (state, e) => ({ ...state, camera: e.model, serial: e.serial }),
  Troubled: (state, e) => ({ ...state, trouble: e }),
  TroubleOver: (state) => ({ ...state, trouble: null }),
  Paused: (state) => ({ ...state, paused: true }),
  Resumed: (state) => ({ ...state, paused: false }),
};
