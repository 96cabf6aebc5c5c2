// The live line: a snapshot, then events, notices and live pictures. Comes back by itself, and says when it is gone.

import { store } from "../state/store.js";

/** @typedef {import("../state/types.js").LedgerEvent} LedgerEvent */
/** @typedef {(number: number, jpeg: ArrayBuffer) => Promise<void>} ShowPicture */

// First try again at once; a daemon that restarts is back within a few seconds, so no longer than five are waited.
const FIRST_MS = 250;
const LONGEST_MS = 5000;

class Line {
  /** @type {WebSocket | null} */
  #socket = null;
  #waitMs = FIRST_MS;
  #picture = 0;
  #watching = false;
  /** @type {ShowPicture | null} */
  #show = null;
  /** @type {Set<(event: LedgerEvent) => void>} */
  #hearers = new Set();
  /** @type {() => Promise<boolean>} */
  #allowed = async () => true;

  /** Open, and stay open. `allowed` tells whether this browser is let in. @param {() => Promise<boolean>} allowed */
  async open(allowed) {
    this.#allowed = allowed;
    await this.#try();
  }

  /** Hear each event as it arrives. @param {(event: LedgerEvent) => void} hearer */
  hear(hearer) {
    this.#hearers.add(hearer);
  }

  /** Live pictures to `show`, one at a time, for as long as `live`. @param {boolean} live @param {ShowPicture} show */
  watch(live, show) {
    this.#show = show;
    this.#watching = live;
    this.#say({ kind: "watch", live });
  }

  async #try() {
    try {
      if (!(await this.#allowed())) return store.link("shut");
    } catch {
      return this.#later(); // no answer at all: the daemon is away
    }
    this.#connect();
  }

  #connect() {
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    const socket = new WebSocket(`${scheme}://${location.host}/api/live`);
    socket.binaryType = "arraybuffer";
    socket.onopen = () => {
      this.#waitMs = FIRST_MS;
      if (this.#watching) this.#say({ kind: "watch", live: true });
    };
    socket.onmessage = (message) => void this.#heard(message.data);
    socket.onclose = () => this.#later();
    this.#socket = socket;
  }

  #later() {
    this.#socket = null;
    store.link("lost");
    setTimeout(() => void this.#try(), this.#waitMs);
    this.#waitMs = Math.min(LONGEST_MS, this.#waitMs * 2);
  }

  /** @param {string | ArrayBuffer} data */
  async #heard(data) {
    if (typeof data !== "string") {
      await this.#show?.(this.#picture, data);
      return this.#say({ kind: "seen", picture: this.#picture });
    }
    const said = JSON.parse(data);
    if (said.kind === "picture") this.#picture = said.number;
    else if (said.kind === "snapshot") store.snapshot(said.state, said.vitals);
    else if (said.kind === "notice") this.#noticed(said.notice);
    else if (said.kind === "event") this.#happened(said);
  }

  /** @param {any} notice */
  #noticed(notice) {
    if (notice.type === "vitals") store.vitals(notice);
    else if (notice.type === "refused") store.refuse(notice);
  }

  /** @param {import("../state/types.js").Committed} committed */
  #happened(committed) {
    if (!store.event(committed)) return this.#say({ kind: "fresh" });
    for (const hearer of this.#hearers) hearer(committed.event);
  }

  /** @param {object} message */
  #say(message) {
    if (this.#socket?.readyState === WebSocket.OPEN) this.#socket.send(JSON.stringify(message));
  }
}

export const line = new Line();
