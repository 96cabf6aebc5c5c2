// The one store of the page. It holds nothing of its own: a snapshot, and the events that followed it, folded.

import { currentRoll } from "./copies.js";
import { fromState, passed } from "./moment.js";
import { reduce } from "./reduce.js";
import { tally } from "./tally.js";

/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").Committed} Committed */
/** @typedef {import("./types.js").Vitals} Vitals */
/** @typedef {import("./types.js").Tally} Tally */
/** @typedef {import("./types.js").Refusal} Refusal */
/** @typedef {"linking" | "on" | "lost" | "shut"} Link */

/**
 * @typedef {object} View
 * @property {Link} link how the line to the daemon stands; `shut`: this browser has not been let in
 * @property {State | null} state
 * @property {Tally | null} tally of the current roll
 * @property {Vitals | null} vitals
 * @property {import("./moment.js").Moment} moment
 * @property {Refusal | null} refusal the last command that was not carried out
 * @property {import("./types.js").Accounted | null} account of what ended last, until it was read
 * @property {string | null} chosen the frame that was picked in the list, by id
 * @property {import("./people.js").Me | null} me who this browser is
 * @property {import("./people.js").Holder | null} control who works the rig
 * @property {"whole" | import("../base/orient.js").Spot} spot what of the pictures is looked at closely
 */

/** @typedef {(view: View) => void} Listener */

class Store {
  /** @type {View} */
  #view = {
    link: "linking", state: null, tally: null, vitals: null, moment: { step: "rest", takeId: null }, refusal: null,
    account: null, chosen: null, me: null, control: null, spot: "whole",
  };
  /** @type {Set<Listener>} */
  #listeners = new Set();

  get view() {
    return this.#view;
  }

  /** Hear every change, and how it stands now. Returns the way to stop. @param {Listener} listener */
  subscribe(listener) {
    this.#listeners.add(listener);
    listener(this.#view);
    return () => void this.#listeners.delete(listener);
  }

  /** @param {State} state @param {Vitals} vitals @param {View["control"]} control */
  snapshot(state, vitals, control) {
    this.#put({ link: "on", state, vitals, control, tally: count(state), moment: fromState(state) });
  }

  /** Fold one event. False if one is missing in between: then a new snapshot is needed. @param {Committed} committed */
  event(committed) {
    const { state, moment } = this.#view;
    if (!state) return false;
    if (committed.seq <= state.seq) {
      // A snapshot has overtaken it: what it means for somebody who watches is news all the same.
      this.#put({ moment: passed(moment, committed.event) });
      return true;
    }
    if (committed.seq !== state.seq + 1) return false;
    const after = reduce(state, committed);
    this.#put({ state: after, tally: count(after), moment: passed(moment, committed.event) });
    return true;
  }

  /** @param {Vitals} vitals */
  vitals(vitals) {
    this.#put({ vitals });
  }

  /** @param {Refusal | null} refusal */
  refuse(refusal) {
    this.#put({ refusal });
  }

  /** @param {View["account"]} account */
  accounted(account) {
    this.#put({ account });
  }

  /** @param {Link} link */
  link(link) {
    this.#put({ link });
  }

  /** @param {string | null} chosen */
  choose(chosen) {
    this.#put({ chosen });
  }

  /** @param {View["me"]} me */
  person(me) {
    this.#put({ me });
  }

  /** @param {View["control"]} control */
  control(control) {
    this.#put({ control });
  }

  /** @param {View["spot"]} spot */
  closer(spot) {
    this.#put({ spot });
  }

  /** @param {Partial<View>} change */
  #put(change) {
    this.#view = { ...this.#view, ...change };
    for (const listener of this.#listeners) listener(this.#view);
  }
}

/** @param {State} state */
function count(state) {
  const roll = currentRoll(state);
  return roll ? tally(roll) : null;
}

export const store = new Store();
