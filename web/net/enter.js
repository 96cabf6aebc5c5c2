// Coming in: a link carries a single-use code in its fragment, which never reaches a log; or somebody types letters.

import { store } from "../state/store.js";
import { Problem, get, post } from "./api.js";
import { isView } from "../nav/places.js";

/**
 * Turn the code of the address bar, if there is one, into a session, and wipe it. True if this browser is let in.
 * @returns {Promise<boolean>}
 */
export async function enter() {
  const code = location.hash.slice(1);
  if (code && !isView(code)) {
    history.replaceState(null, "", location.pathname);
    const said = await tried(() => comeIn(code));
    if (said) store.refuse(said);
  }
  const refused = await tried(async () => store.person(await get("/api/session")));
  return refused === null;
}

/** Send a code, with what this device is to be called. @param {string} code */
export function comeIn(code) {
  return post("/api/session", { code, name: deviceName() });
}

/** What was refused, or null. Anything but a plain refusal goes on as it is.
 * @param {() => Promise<unknown>} attempt @returns {Promise<import("../state/types.js").Refusal | null>} */
async function tried(attempt) {
  try {
    await attempt();
    return null;
  } catch (error) {
    if (error instanceof Problem && (error.status === 401 || error.status === 403)) return error.refusal;
    throw error;
  }
}

/** A plain word for this device; the daemon adds a number where there are several. */
function deviceName() {
  const touched = matchMedia("(pointer: coarse)").matches;
  const short = Math.min(screen.width, screen.height);
  if (!touched) return "computer";
  return short < 600 ? "phone" : "tablet";
}
