// Phones and other screens: let in by a code, listed with when they were seen, sent away. The host's business alone.

import { html } from "../base/html.js";
import { Part } from "../base/part.js";
import { oneOf, typed } from "../forms/fields.js";
import { get } from "../net/api.js";
import { command } from "../net/command.js";
import { isHost } from "../state/people.js";
import { card } from "./card.js";
import { qr } from "./qr.js";
import { agoWords } from "./time.js";

/** @typedef {import("../state/store.js").View} View */
/** @typedef {{id: number, name: string, role: string, seen_at: string, address: string, here: boolean, you: boolean, control: boolean, kept: boolean}} Device */
/** @typedef {{link: string, qr: string[], typed: string, addresses: string[], role: string, until: string}} Offer */

// While somebody is being let in, look every so often whether it was done.
const LOOK_MS = 1500;

export class PeopleCard extends Part {
  /** @type {Device[]} */
  #devices = [];
  /** @type {Offer | null} */
  #offer = null;
  #wrong = 0;
  #timer = 0;

  disconnectedCallback() {
    super.disconnectedCallback();
    clearInterval(this.#timer);
    if (this.#offer) void command("/api/pairing/shut");
    this.#offer = null;
  }

  /** @param {View} view */
  regard(view) {
    return [view.me, view.link, view.control];
  }

  /** @param {View} view */
  draw(view) {
    if (!view.me || view.link !== "on") return this.replaceChildren();
    if (isHost(view)) return void this.#look();
    const words = `This is ${view.me.name}. Letting devices in, listing them and sending them away is done on the machine that rigd runs on.`;
    return this.fill(card("Phones and other screens", html`<p class="dim">${words}</p>`));
  }

  async #look() {
    this.#devices = await get("/api/devices");
    if (this.#offer) {
      const { open } = await get("/api/pairing");
      this.#wrong = open?.wrong ?? 0;
      if (!open) this.#done();
    }
    this.#show();
  }

  #show() {
    const offer = this.#offer;
    this.fill(card("Phones and other screens", html`
      ${offer ? offered(offer, this.#wrong, this.#shut) : this.#invite()}
      <ul class="rows devices" aria-label="Let in">${this.#devices.map((device) => this.#row(device))}</ul>`));
  }

  #invite() {
    return html`<form on-submit=${this.#open}>
      ${oneOf("role", "Let one device in, to", [["operator", "work the rig"], ["viewer", "look only"]], "operator")}
      <button class="main" data-key="pair">Show its code</button></form>`;
  }

  /** @param {Device} device */
  #row({ id, name, role, seen_at, address, here, you, control, kept }) {
    const words = [role, you ? "this screen" : here ? "looking now" : `seen ${agoWords(seen_at)}`, address, control && "works the rig"];
    const away = async () => {
      if (await command(`/api/devices/${id}/revoke`)) await this.#look();
    };
    return html`<li><div><p>${name}</p><p class="dim">${words.filter(Boolean).join(", ")}</p></div>
      ${you || !kept ? null : html`<button data-key=${`away-${id}`} aria-label=${`Send ${name} away`} on-click=${away}>Send away</button>`}</li>`;
  }

  /** @param {SubmitEvent} event */
  #open = async (event) => {
    event.preventDefault();
    this.#offer = await command("/api/pairing", { role: typed(/** @type {HTMLFormElement} */ (event.target), "role") });
    this.#wrong = 0;
    clearInterval(this.#timer);
    if (this.#offer) this.#timer = setInterval(() => void this.#look(), LOOK_MS);
    this.#show();
  };

  #shut = async () => {
    await command("/api/pairing/shut");
    this.#done();
    this.#show();
  };

  #done() {
    clearInterval(this.#timer);
    this.#offer = null;
  }
}

/** @param {Offer} offer @param {number} wrong @param {() => void} shut */
function offered(offer, wrong, shut) {
  const minute = new Date(offer.until).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  return html`<div class="offer">${qr(offer.qr, "The link that lets one device in")}
    <div><p>Scan it with the device's own camera. Or open ${offer.addresses.join(" or ")} there and type</p>
      <p class="letters">${offer.typed}</p>
      <p class="dim">For one device, until ${minute}.${wrong ? ` ${wrong} wrong ${wrong === 1 ? "code was" : "codes were"} typed.` : ""}</p>
      ${offer.addresses[0].includes("//127.") || offer.addresses[0].includes("//localhost")
        ? html`<p class="bad">rigd serves this machine alone. For phones, start it with: rigd run --lan ADDRESS</p>` : null}
      <button data-key="shut" on-click=${shut}>Shut it</button></div></div>`;
}
