// Small helpers over the document.

/** An element with properties, attributes (aria-..., data-..., role, for) and children; event handlers as onname. */
export function h(tag, props = {}, ...children) {
  const node = document.createElement(tag);
  put(node, props);
  node.append(...children.flat().filter((each) => each !== null && each !== undefined && each !== false));
  return node;
}

const SVG = "http://www.w3.org/2000/svg";

/** The same in SVG; all properties are attributes there. */
export function s(tag, props = {}, ...children) {
  const node = document.createElementNS(SVG, tag);
  for (const [key, value] of Object.entries(props)) {
    if (key.startsWith("on")) hear(node, key, value);
    else if (value !== null && value !== undefined) node.setAttribute(key, value);
  }
  node.append(...children.flat().filter((each) => each !== null && each !== undefined));
  return node;
}

function put(node, props) {
  for (const [key, value] of Object.entries(props)) {
    if (value === null || value === undefined) continue;
    if (key.startsWith("on")) hear(node, key, value);
    else if (key === "class") node.className = value;
    else if (key.includes("-") || key === "role" || key === "for" || key === "tabindex") node.setAttribute(key, value);
    else if (key === "value" && node.tagName === "INPUT") node.setAttribute("value", value);
    else node[key] = value;
  }
}

/** A handler as a property, so that `morph` can hand it on. */
function hear(node, key, handler) {
  node[key] = handler;
  node.hears = [...(node.hears ?? []), key];
}

/** Children brought to be like others: only what differs is touched, so focus, scrolling and the browser's layout stay. */
export function morph(node, ...children) {
  const wanted = children.flat(Infinity).filter((each) => each !== null && each !== undefined && each !== false);
  const there = [...node.childNodes];
  wanted.forEach((each, k) => {
    const next = each instanceof Node ? each : document.createTextNode(String(each)), old = there[k];
    if (!old) node.append(next);
    else if (old.nodeType !== next.nodeType || old.nodeName !== next.nodeName) old.replaceWith(next);
    else become(old, next);
  });
  for (const old of there.slice(wanted.length)) old.remove();
}

function become(old, next) {
  if (old.nodeType !== Node.ELEMENT_NODE) {
    if (old.data !== next.data) old.data = next.data;
    return;
  }
  const kept = (name) => name === "open" || name === "style"; // what the user opened stays open; the page allows no styles in its text
  for (const { name } of [...old.attributes]) if (!next.hasAttribute(name) && !kept(name)) old.removeAttribute(name);
  for (const { name, value } of next.attributes) if (!kept(name) && old.getAttribute(name) !== value) old.setAttribute(name, value);
  if (old.style.cssText !== next.style.cssText) old.style.cssText = next.style.cssText;
  for (const key of old.hears ?? []) old[key] = null;
  for (const key of next.hears ?? []) old[key] = next[key];
  old.hears = next.hears;
  morph(old, ...next.childNodes);
}

/** Children replaced, focus kept on the element that carries the same data-focus. */
export function fill(node, ...children) {
  const active = node.contains(document.activeElement) ? document.activeElement : null;
  const held = active?.getAttribute("data-focus"), typed = active?.type === "number" && active.value !== active.defaultValue ? active.value : null;
  node.replaceChildren(...children.flat().filter((each) => each !== null && each !== undefined && each !== false));
  if (!held) return;
  const again = node.querySelector(`[data-focus="${CSS.escape(held)}"]`);
  again?.focus({ preventScroll: true });
  if (again && typed !== null) again.value = typed;
}

let last = 0;
/** A name for an element that nothing else has. */
export const newId = (stem) => `${stem}-${(last += 1)}`;

/** A polite sentence for screen readers. */
export function say(words) {
  const place = document.getElementById("spoken");
  if (place.textContent !== words) place.textContent = words;
}

/** A file handed to the user. */
export function download(name, data, type) {
  const url = URL.createObjectURL(new Blob([data], { type }));
  const link = h("a", { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}
