// The session: photos are sent one by one while the page stays, two taps show where the pupils are,
// and what was found comes in by itself.

const EVERY_MS = 1000;
const AWAY_MS = 4000;
const SENT_AT_ONCE = 2;
const LARGEST = 160_000_000;

// ---------------------------------------------------------------- photos come in

const form = document.querySelector("[data-send]");
const input = form.querySelector("input[type=file]");
const told = form.querySelector("[data-sent]");
const refused = form.querySelector("[data-refused]");
const queue = [];
let sending = 0;
let sent = 0;
let asked = 0;

function take(files) {
  const photos = [...files];
  if (photos.length === 0) return;
  if (sending === 0 && queue.length === 0) {
    sent = asked = 0;
    refused.replaceChildren();
    refused.hidden = true;
  }
  asked += photos.length;
  queue.push(...photos);
  tell();
  while (sending < SENT_AT_ONCE && queue.length) next();
}

async function next() {
  const file = queue.shift();
  sending += 1;
  try {
    if (file.size > LARGEST) refuse(`${file.name}: larger than ${LARGEST / 1e6} MB.`);
    else await send(file);
  } finally {
    sending -= 1;
    sent += 1;
    tell();
    if (queue.length) next();
    else if (sending === 0) look();
  }
}

async function send(file) {
  const answer = await fetch(`${form.action}?name=${encodeURIComponent(file.name.slice(-120))}`, {
    method: "POST",
    body: file,
    headers: { accept: "application/json", "content-type": "application/octet-stream" },
  }).catch(() => null);
  if (answer === null) {
    refuse(`${file.name}: did not arrive, tapemark is away. Send it again.`);
    return;
  }
  const said = await answer.json().catch(() => ({}));
  if (said.error) refuse(said.error.text);
  else if (!answer.ok) refuse(`${file.name}: was not taken (${answer.status}).`);
  for (const one of said.sent ?? []) if (one.refusal) refuse(one.refusal);
}

function tell() {
  told.textContent = sent < asked ? `${sent} of ${asked} sent` : asked === 1 ? "It was sent." : `All ${asked} were sent.`;
}

function refuse(text) {
  const line = document.createElement("li");
  line.textContent = text;
  refused.append(line);
  refused.hidden = false;
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  take(input.files);
  input.value = "";
});
input.addEventListener("change", () => form.requestSubmit());

addEventListener("beforeunload", (event) => {
  if (sending || queue.length) event.preventDefault(); // what has not arrived is still only here
});

const whole = document.body;
for (const kind of ["dragenter", "dragover"]) {
  whole.addEventListener(kind, (event) => {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    whole.toggleAttribute("data-over", true);
  });
}
whole.addEventListener("dragleave", (event) => {
  if (event.relatedTarget === null) whole.toggleAttribute("data-over", false);
});
whole.addEventListener("drop", (event) => {
  whole.toggleAttribute("data-over", false);
  if (!event.dataTransfer?.files.length) return;
  event.preventDefault();
  take(event.dataTransfer.files);
});

// ---------------------------------------------------------------- what was found comes in

const part = () => document.getElementById("followed");
let known = null;
let timer = 0;

async function look() {
  clearTimeout(timer);
  let wait = EVERY_MS;
  if (!document.hidden) {
    try {
      const answer = await fetch(part().dataset.follow, { headers: { accept: "application/json" } });
      if (answer.ok) await heard(await answer.json());
      else wait = AWAY_MS;
    } catch {
      wait = AWAY_MS;
    }
  }
  timer = setTimeout(look, wait);
}

async function heard(state) {
  const says = part().querySelector("[data-says]");
  says.textContent = state.text;
  says.hidden = !state.text;
  const mark = known ?? `${part().dataset.last}-`;
  if (state.mark === mark || busy()) return;
  if (await renew()) known = state.mark;
}

function busy() {
  const typed = [...part().querySelectorAll("input:not([type=checkbox]), textarea")];
  return tapping !== null || typed.some((one) => one.value !== one.defaultValue);
}

// Whether the newer page is in its place.
async function renew() {
  const answer = await fetch(location.pathname + location.search, { headers: { accept: "text/html" } });
  if (!answer.ok) return false;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const newer = page.getElementById("followed");
  if (!newer || busy()) return false;
  const at = document.activeElement?.id;
  const open = [...part().querySelectorAll("details")].map((one) => one.open);
  part().replaceWith(newer);
  newer.querySelectorAll("details").forEach((one, index) => {
    one.open = one.open || Boolean(open[index]);
  });
  dress();
  refresh(page);
  if (at) document.getElementById(at)?.focus({ preventScroll: true });
  return true;
}

// Who sits, and the lights that can be metered as they stand now; what was typed stays.
function refresh(page) {
  const lead = page.querySelector(".page-head .lead");
  if (lead) document.querySelector(".page-head .lead")?.replaceWith(lead);
  const newer = page.querySelector("[data-light]");
  if (!light || !newer) return;
  const fields = ["distance", "power"].map((name) => [name, light.form.elements[name]]);
  const untouched = fields.filter(([name, one]) => one.value === (light.selectedOptions[0]?.dataset[name] ?? ""));
  const chosen = light.value;
  light.replaceChildren(...newer.children);
  if ([...light.options].some((one) => one.value === chosen)) light.value = chosen;
  for (const [name, one] of untouched) one.value = light.selectedOptions[0]?.dataset[name] ?? "";
}

document.addEventListener("visibilitychange", () => {
  if (!document.hidden) look();
});

// ---------------------------------------------------------------- two taps

let tapping = null;
let closer = false; // stays so from frame to frame

function bring(button, picture, on) {
  if (tapping) return;
  closer = on;
  const { near, size } = picture.closest("figure").dataset;
  picture.setAttribute("viewBox", on ? near : `0 0 ${size}`);
  button.setAttribute("aria-pressed", String(on));
  button.textContent = on ? "Whole frame" : "Closer";
}

function dress() {
  const tap = part().querySelector("[data-tap]");
  const picture = part().querySelector("[data-picture]");
  if (tap && picture) {
    tap.hidden = false;
    tap.addEventListener("click", () => (tapping ? leave() : begin(picture)));
    picture.addEventListener("pointerdown", (event) => tapping && tapped(event));
  }
  const nearer = part().querySelector("[data-closer]");
  if (nearer) {
    nearer.hidden = false;
    nearer.addEventListener("click", () => bring(nearer, picture, nearer.getAttribute("aria-pressed") !== "true"));
    if (closer) bring(nearer, picture, true);
  }
  const found = part().querySelector("[data-found]");
  if (found) {
    found.checked = !document.body.classList.contains("hide-found");
    found.addEventListener("change", () => document.body.classList.toggle("hide-found", !found.checked));
  }
}

function begin(picture) {
  const figure = picture.closest("figure");
  tapping = { figure, picture, points: [], whole: picture.getAttribute("viewBox") };
  picture.setAttribute("viewBox", figure.dataset.near);
  figure.toggleAttribute("data-tapping", true);
  part().querySelector("[data-tap]").textContent = "Leave it";
  help("Tap the middle of one pupil.");
  picture.scrollIntoView({ block: "nearest" });
}

function leave() {
  const { figure, picture, whole: box } = tapping;
  picture.setAttribute("viewBox", box);
  picture.querySelector("[data-taps]").replaceChildren();
  figure.toggleAttribute("data-tapping", false);
  part().querySelector("[data-tap]").textContent = "Tap the pupils";
  part().querySelector("[data-tap-help]").hidden = true;
  tapping = null;
}

function tapped(event) {
  event.preventDefault();
  const { picture, points } = tapping;
  const matrix = picture.getScreenCTM().inverse();
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
  points.push(at);
  const ring = document.createElementNS("http://www.w3.org/2000/svg", "circle");
  ring.setAttribute("class", "tapped");
  ring.setAttribute("cx", at.x);
  ring.setAttribute("cy", at.y);
  ring.setAttribute("r", 8 * matrix.a);
  picture.querySelector("[data-taps]").append(ring);
  if (points.length === 1) {
    help("Now the other one.");
    return;
  }
  const numbers = part().querySelector("[data-pupils]");
  const [one, other] = points;
  for (const [name, value] of [["x1", one.x], ["y1", one.y], ["x2", other.x], ["y2", other.y]]) {
    numbers.elements[name].value = value.toFixed(1);
  }
  help("Reading it again …");
  numbers.requestSubmit(numbers.querySelector("button"));
}

function help(text) {
  const line = part().querySelector("[data-tap-help]");
  line.textContent = text;
  line.hidden = false;
}

addEventListener("keydown", (event) => {
  if (event.key === "Escape" && tapping) leave();
});

// ---------------------------------------------------------------- the meter

const light = document.querySelector("[data-light]");
light?.addEventListener("change", () => {
  const chosen = light.selectedOptions[0];
  for (const name of ["distance", "power"]) light.form.elements[name].value = chosen.dataset[name];
});

dress();
look();
