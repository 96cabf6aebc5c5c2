// The page: every component is registered here, and nowhere else.

import { Band } from "./band/band.js";
import { Forms } from "./forms/forms.js";
import { Hand } from "./hand/hand.js";
import { Last } from "./last/last.js";
import { Levels } from "./levels/levels.js";
import { Live } from "./live/live.js";
import { RollHead } from "./roll/roll.js";
import { Shutter } from "./shutter/shutter.js";
import { Sleeve } from "./sleeve/sleeve.js";
import { Trigger } from "./trigger/trigger.js";
import { TroubleBox } from "./trouble/trouble.js";
import { enter } from "./net/enter.js";
import { line } from "./net/line.js";
import { soundFor, soundRefusals } from "./sound/calls.js";
import { tones } from "./sound/tones.js";

customElements.define("rigd-band", Band);
customElements.define("rigd-trouble", TroubleBox);
customElements.define("rigd-live", Live);
customElements.define("rigd-last", Last);
customElements.define("rigd-levels", Levels);
customElements.define("rigd-shutter", Shutter);
customElements.define("rigd-roll", RollHead);
customElements.define("rigd-sleeve", Sleeve);
customElements.define("rigd-hand", Hand);
customElements.define("rigd-trigger", Trigger);
customElements.define("rigd-forms", Forms);

// A button that was clicked gives the keys back to the trigger; one that was reached by keyboard keeps the focus.
document.addEventListener("click", (event) => {
  const active = document.activeElement;
  if (event.detail > 0 && active instanceof HTMLButtonElement) active.blur();
});

// Browsers let a page sound after one tap or key: the first one anywhere will do.
for (const type of ["click", "keydown"]) document.addEventListener(type, () => tones.wake());

line.hear(soundFor);
soundRefusals();
await line.open(enter);
