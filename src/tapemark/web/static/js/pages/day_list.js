// The list of sitters: a file that is chosen or dropped is shown in the text area, to be looked at
// and put right there before it is sent.

import { dropping } from "./drop.js";

const file = document.getElementById("file");
const area = document.getElementById("sitters");
const LARGEST = 190_000;

function show() {
  const chosen = file.files[0];
  if (!chosen || chosen.size > LARGEST) return; // sent as it is, and read there
  chosen.arrayBuffer().then((bytes) => {
    let text;
    try {
      text = new TextDecoder("utf-8", { fatal: true }).decode(bytes);
    } catch {
      return; // another coding: sent as it is, and read there
    }
    if (text.includes("\0")) return;
    area.value = text;
    file.value = "";
    area.focus();
  });
}

if (file) {
  dropping();
  file.addEventListener("change", show);
  file.form.addEventListener("drop", () => setTimeout(show));
}
