// The margin's second leaf: the smallest changes that clear the lenses; try one, then take it.

import { el, namesApart, sign } from "./dom.js";

const KEEPS = [
  ["pattern", "the shadow pattern", "the shadow that the key makes on the face"],
  ["catchlight", "the catchlights", "the lights that the eyes reflect"],
  ["ratio", "the lighting ratio", "how much brighter the lit side of the face is"],
  ["background", "the background", "how bright it is against the face"],
];

const stops = (value) => {
  if (!value || Math.abs(value) < 0.05) return null;
  return `power ${value > 0 ? "up" : "down"} ${Math.abs(value).toFixed(1)} stop`;
};

export function makeMoves(leaf, { store, link, actions }) {
  const boxes = KEEPS.map(([key, text, why]) => {
    const box = el("input", { type: "checkbox", value: key, id: `keep-${key}` });
    return el("li", {}, box, el("label", { for: `keep-${key}`, text, title: why }));
  });
  const keeps = el("fieldset", { class: "keeps" }, el("legend", { text: "Keep as it is" }),
    el("ul", {}, boxes));
  const look = el("button", { type: "button", class: "main", text: "Look for moves", onclick: () => ask() });
  const stop = el("button", { type: "button", text: "Stop", hidden: true, onclick: () => halt() });
  const progress = el("p", { class: "quiet", role: "status" });
  const list = el("ol", { class: "moves" });
  leaf.append(
    el("p", { class: "explain", text: "One change to one thing, as small as will do. Try it, see it, then take it." }),
    keeps, el("p", { class: "row" }, look, stop), progress, list);
  let number = null;
  let found = null;
  let foundAt = null;

  const ask = () => {
    const keep = boxes.map((one) => one.firstChild).filter((one) => one.checked).map((one) => one.value);
    found = null;
    foundAt = store.state.revision;
    list.replaceChildren();
    number = link.ask("moves", { keep });
    working(true, "Looking…");
  };
  const halt = () => {
    if (number !== null) link.stop(number);
    number = null;
    working(false, "Stopped.");
  };
  const working = (busy, text) => {
    store.set({ looking: busy });
    look.hidden = busy;
    stop.hidden = !busy;
    leaf.setAttribute("aria-busy", String(busy));
    progress.textContent = text;
  };

  const oneMove = (move) => {
    const trying = store.state.trying?.move === move;
    const told = namesApart(store.state.view);
    const effects = [stops(move.power_change_stops), ...(move.side_effects ?? []).map(told)].filter(Boolean);
    return el("li", { class: trying ? "move trying" : "move" },
      el("p", { class: "change", text: told(move.change) }),
      el("p", { class: "after" }, sign(move.verdict_after), ` then ${move.verdict_after}`,
        move.amount ? el("span", { class: "amount", text: ` · ${move.amount}` }) : null),
      effects.length ? el("ul", { class: "effects" }, effects.map((one) => el("li", { text: one }))) : null,
      el("p", { class: "row" },
        el("button", {
          type: "button", "aria-pressed": String(trying), text: trying ? "Put back" : "Try",
          "aria-label": `${trying ? "Put back" : "Try"}: ${move.change}`,
          onclick: () => (trying ? actions.putBack() : actions.tryMove(move)),
        }),
        el("button", {
          type: "button", class: "main", text: "Take", "aria-label": `Take: ${move.change}`,
          onclick: () => actions.takeMove(move),
        })));
  };

  const show = () => {
    if (!found) return;
    const focused = document.activeElement?.getAttribute?.("aria-label");
    list.replaceChildren(...found.map(oneMove));
    if (focused && !document.activeElement?.closest(".moves")) {
      const again = focused.replace(/^(Put back|Try)/, store.state.trying ? "Put back" : "Try");
      [...list.querySelectorAll("button")].find((one) => one.getAttribute("aria-label") === again)?.focus();
    }
  };

  store.watch((state, before) => {
    if (state.trying !== before.trying) show();
    if (found && state.revision !== foundAt) {
      found = null;
      list.replaceChildren();
      progress.textContent = "The set has changed: look again.";
    }
    if (!state.online && before.online && number !== null) {
      number = null;
      working(false, "Interrupted: look again.");
    }
  });

  return {
    progress(said) {
      if (said.n === number) progress.textContent = said.text;
    },
    found(said) {
      if (said.n !== number) return;
      number = null;
      found = said.moves.map((one) => ({ ...one, base: foundAt }));
      const clear = store.state.saved?.verdict === "clear";
      const none = clear ? "Both eyes are clear as it is." : "No single move clears the lenses.";
      working(false, found.length ? `${found.length} found, the smallest first.` : none);
      show();
    },
    stopped(said) {
      if (said.n !== number) return;
      number = null;
      working(false, "Stopped.");
    },
    failed(text) {
      number = null;
      working(false, text);
    },
  };
}
