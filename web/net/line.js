// The live line: a snapshot, then events, notices and live pictures. Comes back by itself, and says when it is gone.

import { store } from "../state/store.js";

/** @typedef {import("../state/types.js").LedgerEvent} LedgerEvent */
/** @typedef {(number: number, jpeg: ArrayBuffer) => Promise<void>} ShowPicture */

// First try again at once; a daemon that restarts is back within a few seconds, so no longer than five are waited.
const FIRST_MS = 250;
const LONGEST_MS = 5000;
// How often to ask whether all is as shown, and how long the answer may take before the line is taken for dead: a
// phone that slept, or a network that went away, closes nothing by itself. Just woken, the page has shown old news for
// long enough; else a picture may be on its way before the answer.
const ASK_MS = 4000;
const ANSWER_MS = 3000;
const WOKEN_MS = 350;

class Line {
  /** @type {WebSocket | null} */
  #socket = null;
  #waitMs = FIRST_MS;
  #picture = 0;
  #watching = false;
  #rate = 10;
  #retry = 0;
  #deadline = 0;
  #trying = false;
  /** @type {ShowPicture | null} */
  #show = null;
  /** @type {Set<(event: LedgerEvent) => void>} */
  #hearers = new Set();
  /** @type {() => Promise<boolean>} */
  #allowed = async () => true;

  /** Open, and stay open. `allowed` tells whether this browser is let in. @param {() => Promise<boolean>} allowed */
  async open(allowed) {
    this.#allowed = allowed;
    setInterval(() => this.#ask(ANSWER_MS), ASK_MS);
    for (const [where, type] of /** @type {[EventTarget, string][]} */ ([
      [document, "visibilitychange"], [window, "pageshow"], [window, "online"], [window, "focus"],
    ])) where.addEventListener(type, () => this.#woken());
    await this.#try();
  }

  /** Try at once, as somebody has just been let in. */
  again() {
    this.#waitMs = FIRST_MS;
    return this.#try();
  }

  /** Hear each event as it arrives. @param {(event: LedgerEvent) => void} hearer */
  hear(hearer) {
    this.#hearers.add(hearer);
  }

  /** Live pictures to `show`, one at a time, for as long as `live`.
   * @param {boolean} live @param {ShowPicture} show @param {number} rate pictures a second at most */
  watch(live, show, rate = 10) {
    this.#show = show;
    this.#watching = live;
    this.#rate = rate;
    this.#say({ kind: "watch", live, rate });
  }

  async #try() {
    if (this.#trying || this.#socket) return;
    clearTimeout(this.#retry);
    this.#trying = true;
    try {
      if (await this.#allowed()) this.#connect();
      else store.link("shut");
    } catch {
      this.#later(); // no answer at all: the daemon is away
    } finally {
      this.#trying = false;
    }
  }

  #connect() {
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    const socket = new WebSocket(`${scheme}://${location.host}/api/live`);
    socket.binaryType = "arraybuffer";
    socket.onopen = () => {
      this.#waitMs = FIRST_MS;
      if (this.#watching) this.#say({ kind: "watch", live: true, rate: this.#rate });
    };
    socket.onmessage = (message) => void this.#heard(message.data);
    socket.onclose = () => this.#lost(socket);
    this.#socket = socket;
  }

  /** @param {WebSocket} socket */
  #lost(socket) {
    if (socket !== this.#socket) return; // it was given up before it closed
    this.#socket = null;
    clearTimeout(this.#deadline);
    this.#later();
  }

  #later() {
    store.link("lost");
    clearTimeout(this.#retry);
    this.#retry = setTimeout(() => void this.#try(), this.#waitMs);
    this.#waitMs = Math.min(LONGEST_MS, this.#waitMs * 2);
  }

  /** Back from sleep, from another tab or into a network: show the truth now. */
  #woken() {
    if (document.hidden) return;
    this.#waitMs = FIRST_MS;
    if (this.#socket) this.#ask(WOKEN_MS);
    else void this.#try();
  }

  /** @param {number} patienceMs */
  #ask(patienceMs) {
    const socket = this.#socket;
    if (socket?.readyState !== WebSocket.OPEN || document.hidden) return;
    this.#say({ kind: "ask", seq: store.view.state?.seq ?? 0 });
    clearTimeout(this.#deadline);
    this.#deadline = setTimeout(() => this.#giveUp(socket), patienceMs);
  }

  /** @param {WebSocket} socket */
  #giveUp(socket) {
    socket.onclose = null;
    socket.close();
    this.#waitMs = FIRST_MS;
    this.#lost(socket);
  }

  /** @param {string | ArrayBuffer} data */
  async #heard(data) {
    clearTimeout(this.#deadline); // whatever comes, the line is alive
    if (typeof data !== "string") {
      return this.#pictureCame(this.#picture, data);
    }
    const said = JSON.parse(data);
    if (said.kind === "picture") this.#picture = said.number;
    else if (said.kind === "snapshot") store.snapshot(said.state, said.vitals, said.control);
    else if (said.kind === "control") store.control(said.control);
    else if (said.kind === "notice") this.#noticed(said.notice);
    else if (said.kind === "event") this.#happened(said);
  }

  /** The next one comes when this one was shown, or could not be. @param {number} number @param {ArrayBuffer} jpeg */
  async #pictureCame(number, jpeg) {
    try {
      await this.#show?.(number, jpeg);
    } finally {
      this.#say({ kind: "seen", picture: number });
    }
  }

  /** @param {any} notice */
  #noticed(notice) {
    if (notice.type === "vitals") store.vitals(notice);
    else if (notice.type === "refused") store.refuse(notice);
    else if (notice.type === "accounted") store.accounted(notice);
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
