// Small helpers to build the page; text always goes in as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";

/** Make an element: attributes by name, "on…" as listeners, children as nodes or text. */
export function el(tag, attributes = {}, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

/** The same for a drawing. */
export function svg(tag, attributes = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "text") node.textContent = value;
    else if (name in node && (name === "value" || name === "checked")) node[name] = value;
    else node.setAttribute(name, value === true ? "" : value);
  }
  node.append(...children.flat().filter((one) => one !== null && one !== undefined));
  return node;
}

/** Read what the server drew: pieces that go into an svg element. */
export function pieces(text) {
  const holder = document.createElementNS(SVG, "svg");
  holder.innerHTML = text ?? "";
  return [...holder.childNodes];
}

const FROM_THE_RIGHT = /[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]/;

/** A name as it goes into a sentence: one that is read from the right stays apart from it. */
export const apart = (name) => (FROM_THE_RIGHT.test(name ?? "") ? `\u2068${name}\u2069` : name);

/** What sets the names of a view apart in a sentence that is ready. */
export function namesApart(view) {
  const lists = [view?.people, view?.lights, view?.others, view?.companions];
  const names = [...new Set(lists.flatMap((one) => one ?? []).map((one) => one.name))]
    .filter((name) => apart(name) !== name).sort((a, b) => b.length - a.length);
  if (!names.length) return (text) => text;
  const found = new RegExp(names.map((name) => name.replace(/[.*+?^${}()|[\]\\]/g, "\\$&")).join("|"), "g");
  return (text) => text?.replace(found, (name) => apart(name));
}

/** Change a text only where it differs, so that screen readers stay quiet. */
export function say(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/** The sign of a verdict, as in the printed drawings: ring, half ring, filled ring. */
export function sign(verdict) {
  const node = svg("svg", { class: `sign ${verdict}`, viewBox: "-6 -6 12 12", "aria-hidden": "true" });
  node.append(svg("circle", { class: "ring", r: 5 }));
  if (verdict === "edge") node.append(svg("path", { class: "ink", d: "M0-5A5 5 0 0 0 0 5z" }));
  if (verdict === "veiled") node.append(svg("circle", { class: "ink", r: 3.2 }));
  if (verdict === "clear") node.append(svg("circle", { class: "ink", r: 1.2 }));
  return node;
}
