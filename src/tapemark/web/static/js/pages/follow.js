// Keeps a page as it is in the app: asks now and then how things stand, and when they have changed
// puts the newer part in place, without losing what is typed or focused.
//
//   <div id="followed" data-follow="/day/1/state">  …  <p data-says></p>

const EVERY_MS = 1500;
const AWAY_MS = 3000;

const part = () => document.getElementById("followed");
let known = null;
let timer = 0;

async function look() {
  clearTimeout(timer);
  let wait = EVERY_MS;
  if (!document.hidden) {
    try {
      const answer = await fetch(part().dataset.follow, { headers: { accept: "application/json" } });
      if (answer.ok) await take(await answer.json());
      else wait = AWAY_MS;
    } catch {
      wait = AWAY_MS;
    }
  }
  timer = setTimeout(look, wait);
}

async function take(state) {
  const says = part().querySelector("[data-says]");
  if (says && state.text && says.textContent !== state.text) says.textContent = state.text;
  const stale = known === null ? part().dataset.mark === "busy" && !state.busy : known !== state.mark;
  known = state.mark;
  if (stale && !typing()) await renew();
  else if (stale) known = null;
}

function typing() {
  const at = document.activeElement;
  return part().contains(at) && at.matches("input, select, textarea") && at.value !== at.defaultValue;
}

async function renew() {
  const answer = await fetch(location.pathname + location.search, { headers: { accept: "text/html" } });
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const newer = page.getElementById("followed");
  if (!newer) return;
  const at = document.activeElement?.id;
  const open = [...part().querySelectorAll("details[open][id]")].map((one) => one.id);
  part().replaceWith(newer);
  for (const one of open) document.getElementById(one)?.setAttribute("open", "");
  if (at) document.getElementById(at)?.focus({ preventScroll: true });
}

document.addEventListener("visibilitychange", () => {
  if (!document.hidden) look();
});
addEventListener("online", () => part() && look());
if (part()) look();
