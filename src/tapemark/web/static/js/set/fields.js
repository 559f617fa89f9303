// One field of the setup file as a row: label, what it means, what was typed, what is wrong.

import { el, say } from "./dom.js";

let made = 0;

/** What stands in a mapping at a path of keys. */
export const at = (node, keys) => keys.reduce((one, key) => (one === null || typeof one !== "object" ? undefined : one?.[key]), node);

const shown = (value) => {
  if (value === undefined || value === null) return "";
  if (typeof value === "object") return "";
  return String(value);
};

/** A typed text as the value that is sent: numbers as numbers where the field is one. */
function typed(text, field) {
  const plain = text.trim();
  if (!plain) return null;
  if (field.number && /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain)) return Number(plain);
  return plain;
}

/**
 * A row for a field.
 * @param {object} field {key, label, why, kind, options, example, usual, number, needed}
 * @param {string} path of the edit, such as "light.key.place.height"
 * @param {object} with_ {take(edits, options), base()} of the page
 */
export function fieldRow(field, path, { take, base }) {
  const id = `field-${(made += 1)}`;
  const error = el("p", { class: "refused", id: `${id}-refused`, hidden: true });
  const why = el("p", { class: "why", id: `${id}-why`, text: field.why });
  const control = makeControl(field, id);
  control.setAttribute("aria-describedby", `${id}-why ${id}-refused`);
  const row = el("div", { class: `field ${field.kind}`, "data-path": path },
    el("label", { for: id, text: field.label }), control, why, error);
  let held = ""; // what is saved, as it was typed
  let sent = null; // what is on its way
  let seen = null; // the revision on the screen when typing began; null: the one at sending
  let typing = false;

  const refuse = (text) => {
    error.hidden = !text;
    say(error, text ?? "");
    if (text) control.setAttribute("aria-invalid", "true");
    else control.removeAttribute("aria-invalid");
  };
  const read = () => (control.type === "checkbox" ? String(control.checked) : control.value);
  const send = () => {
    const text = read();
    if (text === (sent ?? held)) {
      if (sent === null) refuse(null);
      return null;
    }
    const value = field.kind === "flag" ? control.checked : typed(text, field);
    if (value === null && field.needed) return refuse(`${field.label} is needed, like "${field.example}"`);
    const from = typing ? seen : base();
    sent = text;
    typing = false;
    return take([{ set: path, value }], {
      base: from,
      done: (wrong) => {
        if (!wrong) held = text;
        if (sent !== text) return; // newer words are on their way
        sent = null;
        if (!wrong || read() === text) refuse(wrong);
      },
      lost: () => (sent = null),
    });
  };
  control.addEventListener("input", () => {
    refuse(null); // it was said of what stood there before
    if (!typing) seen = base();
    typing = true;
  });
  control.addEventListener("blur", () => (typing = false));
  control.addEventListener("change", send);
  control.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && control.tagName === "INPUT") send();
    if (event.key === "Escape" && read() !== held) {
      event.stopPropagation();
      put(held);
      refuse(null);
      typing = false;
    }
  });
  const put = (text) => {
    if (control.type === "checkbox") control.checked = text === "true";
    else control.value = text;
  };
  return {
    row,
    path,
    control,
    /** Show what is saved, unless the person is typing or has to put right what they typed. */
    show(value) {
      const fallback = field.kind === "flag" || field.kind === "choice" ? (field.usual ?? "") : "";
      const text = shown(value ?? fallback);
      if (document.activeElement === control && read() !== held) return;
      if ((sent !== null || control.hasAttribute("aria-invalid")) && text === held) return;
      refuse(null);
      held = text;
      put(text);
    },
  };
}

function makeControl(field, id) {
  if (field.kind === "flag") return el("input", { type: "checkbox", id });
  if (field.kind === "choice") {
    const none = field.needed || field.usual ? [] : [["", field.none ?? "not stated"]];
    const options = [...none, ...field.options.map((one) => [one, one])];
    return el("select", { id }, options.map(([value, text]) => el("option", { value, text })));
  }
  return el("input", {
    type: "text", id, autocomplete: "off", spellcheck: "false", inputmode: field.number ? "decimal" : null,
    placeholder: field.usual ? `${field.usual}` : "not stated",
  });
}
