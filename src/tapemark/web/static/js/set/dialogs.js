// Dialogs: changed elsewhere, adding things, and help with keys and words.

import { el } from "./dom.js";

/** Open a dialog of the page and close it by its own buttons. */
export function openDialog(dialog) {
  if (!dialog.open) dialog.showModal();
}

for (const button of document.querySelectorAll("dialog [data-close]")) {
  button.addEventListener("click", () => button.closest("dialog").close());
}

/** "This setup was changed elsewhere": merge, keep both, or drop mine. */
export function makeElsewhere(dialog, { settle, drop }) {
  const text = dialog.querySelector("[data-text]");
  const clashes = dialog.querySelector("[data-clashes]");
  const buttons = Object.fromEntries(
    [...dialog.querySelectorAll("[data-do]")].map((one) => [one.dataset.do, one]));
  let met = null; // the change that met another one
  const done = (how) => {
    const take = met;
    met = null;
    dialog.close();
    if (how === "drop") drop();
    else settle(how, take);
  };
  for (const [how, button] of Object.entries(buttons)) {
    button.addEventListener("click", () => done(how));
  }
  dialog.addEventListener("cancel", (event) => {
    event.preventDefault(); // a choice is needed: nothing may be lost by a key
  });
  return {
    open(said, take) {
      met = take;
      const both = (said.clashes ?? []).length > 0;
      text.textContent = said.can_merge
        ? "While you worked, this setup was changed elsewhere. The two changes do not touch each other: they can be put together."
        : "While you worked, this setup was changed elsewhere, in the same place. Keep both as two setups, or leave yours out.";
      clashes.hidden = !both;
      clashes.replaceChildren(...(said.clashes ?? []).map((one) => el("li", { text: String(one) })));
      buttons.merge.hidden = !said.can_merge;
      openDialog(dialog);
    },
  };
}

/** Add a light from the gear list, or something else. */
export function makeAdding(dialog, { add }) {
  const form = dialog.querySelector("form");
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const data = new FormData(form);
    const body = { head: data.get("head"), modifier: data.get("modifier") };
    const name = String(data.get("name") ?? "").trim();
    if (name) body.name = name;
    const wrong = dialog.querySelector("[data-refused]");
    wrong.hidden = true;
    add("light", body, (text) => {
      if (text === null) {
        form.reset();
        dialog.close();
        return;
      }
      wrong.textContent = text;
      wrong.hidden = false;
    });
  });
  for (const button of dialog.querySelectorAll("[data-add]")) {
    button.addEventListener("click", () => {
      dialog.close();
      add(button.dataset.add, {}, null);
    });
  }
}
