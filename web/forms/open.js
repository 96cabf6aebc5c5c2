// How any part asks for a form, without knowing where it is.

/** @typedef {"rolls" | "strip"} FormName */

/** @param {FormName} name */
export function openForm(name) {
  document.dispatchEvent(new CustomEvent("rigd-form", { detail: name }));
}
