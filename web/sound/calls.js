// Which event has which sound.

import { store } from "../state/store.js";
import { tones } from "./tones.js";

/** @param {import("../state/types.js").LedgerEvent} event */
export function soundFor(event) {
  if (event.type === "Exposed") tones.play("tick");
  else if (event.type === "Stored") tones.play("safe");
  else if (event.type === "Troubled") tones.play("call");
}

/** A command that was not carried out has a sound of its own, wherever it came from. */
export function soundRefusals() {
  let before = store.view.refusal;
  store.subscribe(({ refusal }) => {
    if (refusal && refusal !== before) tones.play("refused");
    before = refusal;
  });
}
