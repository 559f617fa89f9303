// Drawings in parts: a part that stays keeps its nodes, and is not sent again.
//
// The server tells the marks of a drawing's parts in their order, and the text of those that the
// page did not say it has.

import { pieces } from "./dom.js";

const MOST_TEXTS = 400; // of parts seen lately
const texts = new Map(); // mark -> SVG text

/** Remember the parts that came with a drawing. */
function learn(made) {
  for (const mark of made.marks) {
    const text = made.parts[mark] ?? texts.get(mark);
    texts.delete(mark);
    if (text !== undefined) texts.set(mark, text);
  }
  for (const mark of texts.keys()) {
    if (texts.size <= MOST_TEXTS) break;
    texts.delete(mark);
  }
}

/** Whether all parts of some drawings are at hand. */
export function complete(drawings) {
  const all = Object.values(drawings ?? {});
  all.forEach(learn);
  return all.every((made) => made.marks.every((mark) => texts.has(mark)));
}

/**
 * What draws a drawing into its place.
 * @param {function(Node): Element} place where a node of the drawing belongs
 * @param {function(Node): void} [prepare] called once with each new node
 */
export function makeParts(place, prepare = () => {}) {
  let shown = []; // [mark, nodes] in order
  return {
    /** Show a drawing; returns whether anything is new. */
    show(made) {
      learn(made);
      if (!made.marks.every((mark) => texts.has(mark))) return false;
      if (shown.length === made.marks.length && shown.every(([mark], k) => mark === made.marks[k])) return false;
      const kept = new Map();
      for (const [mark, nodes] of shown) kept.set(mark, [...(kept.get(mark) ?? []), nodes]);
      shown = made.marks.map((mark) => {
        const there = kept.get(mark)?.shift();
        const nodes = there ?? pieces(texts.get(mark));
        if (!there) nodes.forEach(prepare);
        return [mark, nodes];
      });
      for (const nodes of [...kept.values()].flat()) for (const node of nodes) node.remove();
      const next = new Map(); // holder -> the child before which the next node belongs
      for (const [, nodes] of shown) {
        for (const node of nodes) {
          const holder = place(node);
          if (!next.has(holder)) next.set(holder, holder.firstChild);
          const at = next.get(holder);
          if (node === at) next.set(holder, at.nextSibling);
          else holder.insertBefore(node, at);
        }
      }
      return true;
    },
    /** The marks of what is shown. */
    get marks() {
      return shown.map(([mark]) => mark);
    },
  };
}
