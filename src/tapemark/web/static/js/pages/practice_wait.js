// The wait for a drill's first picture: says how far it is, and shows the drill when it is there.

const EVERY_MS = 1000;
const AWAY_MS = 4000;
const wait = document.querySelector("[data-waits]");

async function look() {
  let next = EVERY_MS;
  try {
    const answer = await fetch(wait.dataset.waits, { headers: { accept: "application/json" } });
    const state = answer.ok ? await answer.json() : { busy: true };
    const says = wait.querySelector("p");
    if (state.text && says.textContent !== state.text) says.textContent = state.text;
    if (!state.busy) {
      window.location.reload();
      return;
    }
  } catch {
    next = AWAY_MS;
  }
  setTimeout(look, next);
}

if (wait) look();
