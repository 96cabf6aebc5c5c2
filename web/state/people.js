// Who looks at this page, and who works the rig.

/** @typedef {import("./store.js").View} View */
/** @typedef {{id: number, name: string}} Holder */
/** @typedef {{id: number, name: string, role: "viewer" | "operator" | "host", local: boolean}} Me */

/** True if this browser may work the rig at all. @param {View} view */
export function mayWork(view) {
  return view.me !== null && view.me.role !== "viewer";
}

/** True on the machine that rigd runs on, for the one who started it. @param {View} view */
export function isHost(view) {
  return view.me !== null && view.me.role === "host" && view.me.local;
}

/** The name of somebody else who works the rig now, or null. @param {View} view @returns {string | null} */
export function otherHand(view) {
  const { control, me } = view;
  return control && control.id !== me?.id ? control.name : null;
}

/** True if a command of this page would be heard. @param {View} view */
export function handsFree(view) {
  return view.link === "on" && mayWork(view) && otherHand(view) === null;
}
