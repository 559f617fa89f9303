// Dark, light or as the device says: the choice is kept in a cookie, so that the server sends the
// next page in it at once.

const NEXT = { "": "dark", dark: "light", light: "" };
const WORD = { "": "Device colours", dark: "Dark colours", light: "Light colours" };
const YEAR_S = 31536000;

function choice() {
  const theme = document.documentElement.dataset.theme;
  return theme in WORD ? theme : "";
}

function choose(theme) {
  if (theme) document.documentElement.dataset.theme = theme;
  else delete document.documentElement.dataset.theme;
  document.cookie = `tapemark_theme=${theme}; path=/; max-age=${theme ? YEAR_S : 0}; samesite=lax`;
}

function label(button) {
  button.textContent = WORD[choice()];
  button.setAttribute("aria-label", `${WORD[choice()]}: change between dark, light and as the device has it`);
}

for (const button of document.querySelectorAll("[data-theme-switch]")) {
  label(button);
  button.hidden = false;
  button.addEventListener("click", () => {
    choose(NEXT[choice()]);
    label(button);
  });
}
