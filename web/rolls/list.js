// Asking for rolls, a page at a time.

import { get } from "../net/api.js";

/** @typedef {import("./outlook.js").Line} Line */
/** @typedef {"" | "unfinished" | "look" | "missing"} Kind */

/** @type {[Kind, string][]} */
export const KINDS = [["", "all"], ["unfinished", "unfinished"], ["look", "with doubts"], ["missing", "with gaps"]];

const PAGE = 40;
const MOST = 200;

/**
 * @param {{words: string, kind: Kind, after?: number, limit?: number}} asked
 * @returns {Promise<{rolls: Line[], more: boolean}>}
 */
export function browse({ words, kind, after = 0, limit = 0 }) {
  const query = new URLSearchParams({ after: String(after), limit: String(Math.min(MOST, Math.max(PAGE, limit))), kind });
  for (const word of words.split(/\s+/).filter(Boolean)) query.append("words", word);
  return get(`/api/rolls/browse?${query}`);
}
