// Coming in: the printed link carries a single-use code in its fragment, which never reaches a log.

import { Problem, get, post } from "./api.js";

/**
 * Turn the code of the address bar, if there is one, into a session, and wipe it. True if this browser is let in.
 * @returns {Promise<boolean>}
 */
export async function enter() {
  const code = location.hash.slice(1);
  if (code) {
    history.replaceState(null, "", location.pathname);
    await tried(() => post("/api/session", { code }));
  }
  return tried(() => get("/api/session"));
}

/** @param {() => Promise<unknown>} attempt */
async function tried(attempt) {
  try {
    await attempt();
    return true;
  } catch (error) {
    if (error instanceof Problem && (error.status === 401 || error.status === 403)) return false;
    throw error;
  }
}
