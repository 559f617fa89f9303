// The brief, one step at a time; without this it is one long form. Answers are kept while typing.

import { dropping } from "./drop.js";

const form = document.getElementById("brief");
const steps = [...form.querySelectorAll("[data-step]")];
const index = form.querySelector("[data-index]");
const kept = form.querySelector("[data-kept]");
const KEEP_AFTER_MS = 800;
let timer = 0;
let asking = Promise.resolve();

function show(key, { focus = true } = {}) {
  form.dataset.at = key;
  for (const step of steps) step.hidden = step.dataset.step !== key;
  for (const button of index.querySelectorAll("button")) {
    if (button.dataset.to === key) button.setAttribute("aria-current", "step");
    else button.removeAttribute("aria-current");
  }
  if (focus) {
    const heading = document.getElementById(`step-${key}`);
    heading.focus({ preventScroll: true });
    form.scrollIntoView({ block: "start" });
  }
}

function keep() {
  clearTimeout(timer);
  timer = setTimeout(() => {
    asking = asking.then(send, send);
  }, KEEP_AFTER_MS);
}

async function send() {
  const fields = new URLSearchParams(new FormData(form));
  fields.set("do", "keep");
  const answer = await fetch("/start", {
    method: "POST",
    body: fields,
    headers: { accept: "application/json" },
  }).catch(() => null);
  if (answer?.ok) {
    form.elements.draft.value = (await answer.json()).draft;
    kept.textContent = "kept";
  } else {
    kept.textContent = "not kept: tapemark is away";
  }
}

form.addEventListener("click", (event) => {
  const to = event.target.closest("[data-to]");
  if (to) show(to.dataset.to);
});
form.addEventListener("input", () => {
  kept.textContent = "";
  keep();
});
form.addEventListener("submit", async (event) => {
  clearTimeout(timer);
  if (form.dataset.sent) event.preventDefault(); // pressed twice
  form.dataset.sent = "yes";
});
form.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || !event.target.matches("input")) return;
  const at = steps.findIndex((step) => !step.hidden);
  if (at < steps.length - 1) {
    event.preventDefault(); // Enter goes on, and plans only from the last step
    show(steps[at + 1].dataset.step);
  }
});

index.hidden = false;
for (const foot of form.querySelectorAll("[data-foot]")) foot.hidden = false;
show(form.dataset.first, { focus: false });
document.getElementById("wrong")?.focus();
addEventListener("pageshow", () => delete form.dataset.sent);
dropping();
