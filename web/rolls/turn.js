// Turning to a roll.

import { command } from "../net/command.js";

/** Open a roll, or say that it is through. @param {string} rollId @param {"open" | "close"} verb */
export function turnTo(rollId, verb) {
  return command(`/api/rolls/${encodeURIComponent(rollId)}/${verb}`);
}
