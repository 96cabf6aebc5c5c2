// Commands to the daemon. What is refused comes back as a `Problem` with what happened, why, and what to do.

/** @typedef {import("../state/types.js").Refusal} Refusal */

export class Problem extends Error {
  /** @param {Refusal} refusal @param {number} status */
  constructor(refusal, status) {
    super(refusal.what);
    this.refusal = refusal;
    this.status = status;
  }
}

const SILENT = {
  code: "no-answer", what: "The daemon did not answer.", why: "", remedy: "Wait for the link, then try again.",
};

/**
 * Send a command.
 * @param {string} path
 * @param {object} body
 * @returns {Promise<any>}
 */
export function post(path, body = {}) {
  return ask(path, {
    method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body),
  });
}

/** @param {string} path @returns {Promise<any>} */
export function get(path) {
  return ask(path, {});
}

/** A number used once, so that a command that arrives twice is known. Works without a secure context. */
export function nonce() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
}

/** @param {string} path @param {RequestInit} options */
async function ask(path, options) {
  let answer;
  try {
    answer = await fetch(path, { credentials: "same-origin", cache: "no-store", ...options });
  } catch (error) {
    throw new Problem({ ...SILENT, why: String(error) }, 0);
  }
  if (answer.ok) return answer.json();
  throw new Problem(await told(answer), answer.status);
}

/** @param {Response} answer @returns {Promise<Refusal>} */
async function told(answer) {
  const type = answer.headers.get("Content-Type") ?? "";
  if (!type.includes("json")) return { ...SILENT, why: `It said ${answer.status}.` };
  const said = await answer.json();
  return { code: said.code, what: said.title, why: said.detail, remedy: said.remedy };
}
