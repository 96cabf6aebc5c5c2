// One way for every button: send, and show what is refused.

import { store } from "../state/store.js";
import { Problem, post } from "./api.js";

/**
 * Send a command. What is refused is shown and gives null; an answer takes an old refusal away.
 * @param {string} path
 * @param {object} body
 * @returns {Promise<any | null>}
 */
export async function command(path, body = {}) {
  try {
    const answer = await post(path, body);
    store.refuse(null);
    return answer;
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    store.refuse(error.refusal);
    return null;
  }
}
