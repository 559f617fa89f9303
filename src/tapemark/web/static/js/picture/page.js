// The page of a picture: one, or two beside each other of which the second waits for the first.

import { makePicture } from "./panel.js";

const holders = [...document.querySelectorAll("[data-picture]")];
const panels = [];
holders.forEach((holder, number) => {
  panels[number] = makePicture(holder, {
    address: holder.dataset.picture,
    id: holder.dataset.id,
    older: "older" in holder.dataset,
    hold: number > 0,
    ready: () => panels[number + 1]?.go(),
  });
});

for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
