// The page: every component is registered here, and nowhere else.

import "./base/prefs.js";
import { AccountCard } from "./account/account.js";
import { Band } from "./band/band.js";
import { LookOver } from "./bench/look-over.js";
import { PeopleCard } from "./bench/people.js";
import { ScreenCard } from "./bench/screen.js";
import { SetupCard } from "./bench/setup.js";
import { Closer } from "./closer/closer.js";
import { Enter } from "./enter/enter.js";
import { Errand } from "./errand/errand.js";
import { Gauges } from "./gauges/gauges.js";
import { Halt } from "./halt/halt.js";
import { Hand } from "./hand/hand.js";
import { Handover } from "./handover/handover.js";
import { Hold } from "./hold/hold.js";
import { Last } from "./last/last.js";
import { Levels } from "./levels/levels.js";
import { Live } from "./live/live.js";
import { Nav } from "./nav/nav.js";
import { RollHead } from "./roll/roll.js";
import { Rolls } from "./rolls/rolls.js";
import { Shutter } from "./shutter/shutter.js";
import { Takes } from "./shutter/takes.js";
import { Sleeve } from "./sleeve/sleeve.js";
import { StripPart } from "./strip/strip.js";
import { Trigger } from "./trigger/trigger.js";
import { TroubleBox } from "./trouble/trouble.js";
import { Views } from "./views/views.js";
import { enter } from "./net/enter.js";
import { line } from "./net/line.js";
import { soundFor, soundNotices } from "./sound/calls.js";
import { Mute } from "./sound/mute.js";
import { tones } from "./sound/tones.js";

/** @type {[string, CustomElementConstructor][]} */
const PARTS = [
  ["band", Band], ["hold", Hold], ["halt", Halt], ["mute", Mute], ["trouble", TroubleBox], ["enter", Enter], ["nav", Nav],
  ["live", Live], ["closer", Closer], ["last", Last], ["levels", Levels], ["shutter", Shutter], ["takes", Takes],
  ["roll", RollHead], ["account", AccountCard],
  ["sleeve", Sleeve], ["strip", StripPart], ["errand", Errand], ["gauges", Gauges], ["hand", Hand], ["trigger", Trigger],
  ["look-over", LookOver], ["setup", SetupCard], ["screen", ScreenCard], ["people", PeopleCard], ["rolls", Rolls],
  ["handover", Handover], ["views", Views],
];
for (const [name, part] of PARTS) customElements.define(`rigd-${name}`, part);

// A button that was clicked gives the keys back to the trigger; one that was reached by keyboard keeps the focus.
document.addEventListener("click", (event) => {
  const active = document.activeElement;
  if (event.detail > 0 && active instanceof HTMLButtonElement) active.blur();
});

// Browsers let a page sound after one tap or key: the first one anywhere will do.
for (const type of ["click", "keydown"]) document.addEventListener(type, () => void tones.wake());

line.hear(soundFor);
soundNotices();
await line.open(enter);
