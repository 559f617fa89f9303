// The margin's first leaf: what is wrong or worth knowing, and what to do about it.

import { apart, el, namesApart } from "./dom.js";

const WORDS = { trouble: "trouble", caution: "look at it", note: "good to know" };
const SIGNS = { trouble: "\u25B2", caution: "\u25C6", note: "\u2022" };
const ORDER = ["trouble", "caution", "note"];

function oneNote(finding, many, told) {
  return el("li", { class: `finding ${finding.severity}` },
    el("p", { class: "rank" },
      el("span", { class: "shape", "aria-hidden": "true", text: SIGNS[finding.severity] ?? "\u2022" }),
      WORDS[finding.severity] ?? finding.severity,
      many && finding.sitter ? el("span", { class: "whose", text: ` · ${apart(finding.sitter)}` }) : null),
    el("p", { class: "text", text: told(finding.text) }),
    finding.what_to_do ? el("p", { class: "do", text: told(finding.what_to_do) }) : null);
}

export function makeNotes(leaf, { store, counted }) {
  const list = el("ol", { class: "findings" });
  const none = el("p", { class: "quiet", text: "Nothing to put right. Take a test shot." });
  const wait = el("p", { class: "quiet", text: "Checking…" });
  leaf.append(list, none, wait);
  let shown = null;
  store.watch((state) => {
    const findings = state.view?.findings ?? state.saved?.findings ?? null;
    wait.hidden = findings !== null;
    none.hidden = findings === null || findings.length > 0;
    leaf.classList.toggle("stale", state.dragging || Boolean(state.trying));
    if (findings === shown || findings === null) return;
    shown = findings;
    const sorted = [...findings].sort((a, b) => ORDER.indexOf(a.severity) - ORDER.indexOf(b.severity));
    const many = (state.view?.people?.length ?? 1) > 1;
    const told = namesApart(state.view);
    list.replaceChildren(...sorted.map((one) => oneNote(one, many, told)));
    counted(findings.filter((one) => one.severity === "trouble").length, findings.length);
  });
}
