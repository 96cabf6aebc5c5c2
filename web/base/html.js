// An escaping template tag: the markup is ours and parsed once, every value goes in as text, attribute or node.

/** @typedef {string | number | boolean | null | undefined | Node | ((event: any) => void)} Plain */
/** @typedef {Plain | Plain[]} Slot */

/** @type {WeakMap<TemplateStringsArray, HTMLTemplateElement>} */
const parsed = new WeakMap();

const WHOLE = /^slot:(\d+)$/;
const NAME_BEFORE = /([\w:-]+)=$/;
const HELD = "data-slot-";

/**
 * Build nodes. `<p class=${name}>${text}</p>`: a value in text position becomes a text node (arrays: one after the
 * other; null, undefined, false: nothing; nodes: themselves); as an attribute it is the whole value (true: present,
 * false or null: absent); `on-click=${handler}` listens.
 * @param {TemplateStringsArray} strings
 * @param {...Slot} values
 * @returns {DocumentFragment}
 */
export function html(strings, ...values) {
  const made = /** @type {DocumentFragment} */ (document.importNode(template(strings).content, true));
  const walker = document.createTreeWalker(made, NodeFilter.SHOW_ELEMENT | NodeFilter.SHOW_COMMENT);
  const found = [];
  while (walker.nextNode()) found.push(walker.currentNode);
  for (const node of found) {
    if (node instanceof Comment) fillText(node, values);
    else fillAttributes(/** @type {Element} */ (node), values);
  }
  return made;
}

/**
 * The first element of a template: where exactly one is meant.
 * @param {DocumentFragment} made
 * @returns {HTMLElement}
 */
export function only(made) {
  return /** @type {HTMLElement} */ (made.firstElementChild);
}

/** @param {TemplateStringsArray} strings */
function template(strings) {
  let known = parsed.get(strings);
  if (!known) {
    known = document.createElement("template");
    known.innerHTML = markup(strings);
    parsed.set(strings, known);
  }
  return known;
}

/** Our own markup with a marker at each value; no value is part of it. An attribute's name is held in an attribute of
 * our own, so that the parser neither checks a marker as if it were a value nor changes the case of the name.
 * @param {TemplateStringsArray} strings */
function markup(strings) {
  let text = "";
  strings.forEach((part, i) => {
    text += part;
    if (i === strings.length - 1) return;
    const inTag = text.lastIndexOf("<") > text.lastIndexOf(">");
    text = inTag ? text.replace(NAME_BEFORE, `${HELD}${i}="$1"`) : `${text}<!--slot:${i}-->`;
  });
  return text;
}

/** @param {Comment} node @param {Slot[]} values */
function fillText(node, values) {
  const place = WHOLE.exec(node.data);
  if (!place) return;
  const value = values[Number(place[1])];
  const nodes = (Array.isArray(value) ? value : [value]).filter(shown).map(asNode);
  node.replaceWith(...nodes);
}

/** @param {Slot} value */
function shown(value) {
  return value !== null && value !== undefined && value !== false && value !== true;
}

/** @param {Plain} value */
function asNode(value) {
  return value instanceof Node ? value : document.createTextNode(String(value));
}

/** @param {Element} element @param {Slot[]} values */
function fillAttributes(element, values) {
  for (const attribute of [...element.attributes]) {
    if (!attribute.name.startsWith(HELD)) continue;
    element.removeAttribute(attribute.name);
    fillAttribute(element, attribute.value, values[Number(attribute.name.slice(HELD.length))]);
  }
}

/** @param {Element} element @param {string} name @param {Slot} value */
function fillAttribute(element, name, value) {
  if (name.startsWith("on-")) element.addEventListener(name.slice(3), /** @type {EventListener} */ (value));
  else if (value === true) element.setAttribute(name, "");
  else if (shown(value)) element.setAttribute(name, String(value));
}
