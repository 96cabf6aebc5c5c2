// Finding frames and takes, and naming them.

import { currentRoll, rollOf } from "./copies.js";

/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").Take} Take */
/** @typedef {import("./types.js").FrameState} FrameState */
/** @typedef {import("./store.js").View} View */

/** "Strip 2, place 3", with the edge mark where there is one. @param {State} state @param {string | null} frameId */
export function frameWords(state, frameId) {
  const roll = rollOf(state, frameId);
  if (!roll || !frameId) return "no frame";
  const { frame } = roll.frames[frameId];
  const mark = frame.mark ? `, edge mark ${frame.mark}` : "";
  return `Strip ${roll.strips[frame.strip_id]?.number ?? "?"}, place ${frame.place}${mark}`;
}

/** Takes of the current roll that left a file, oldest first. @param {State} state @returns {Take[]} */
function storedTakes(state) {
  const takes = Object.values(currentRoll(state)?.takes ?? {});
  const stored = takes.filter((t) => t.stage === "stored" || t.stage === "judged");
  return stored.sort((a, b) => (a.take_id < b.take_id ? -1 : 1));
}

/** The take whose pictures are shown: of the chosen frame, else the newest one. Only what was judged: before that the
 * daemon would have to decode its file twice. @param {View} view @returns {string | null} */
export function lastTakeId(view) {
  if (!view.state) return null;
  const stored = storedTakes(view.state).filter((take) => take.stage === "judged");
  const frame = view.chosen ? currentRoll(view.state)?.frames[view.chosen] : null;
  if (frame) return frame.keeper.at(-1) ?? stored.filter((t) => t.frame_id === view.chosen).at(-1)?.take_id ?? null;
  return stored.at(-1)?.take_id ?? null;
}

/** The frame that the hand's buttons speak of: the chosen one, else the current one, else the last that was taken.
 * @param {View} view @returns {FrameState | null} */
export function frameInHand(view) {
  const roll = view.state && currentRoll(view.state);
  if (!view.state || !roll) return null;
  const id = view.chosen ?? view.state.frame_id ?? storedTakes(view.state).at(-1)?.frame_id;
  return (id && roll.frames[id]) || null;
}

/** The corners of the frame that was found last on this roll; empty where none was. @param {State} state */
export function foundLast(state) {
  return storedTakes(state).filter((take) => take.verdict?.corners?.length).at(-1)?.verdict?.corners ?? [];
}

/** The strip that a take was made of. @param {State} state @param {string} takeId */
export function stripOfTake(state, takeId) {
  const roll = currentRoll(state);
  const frame = roll?.frames[roll.takes[takeId]?.frame_id ?? ""];
  return (frame && roll?.strips[frame.frame.strip_id]) ?? null;
}

/** A frame's takes in order. @param {State} state @param {FrameState} frame @returns {Take[]} */
export function takesOf(state, frame) {
  const takes = state.rolls[frame.frame.roll_id]?.takes ?? {};
  return frame.takes.map((id) => takes[id]).filter(Boolean);
}
