// The menu of further pages: closed by Escape, and by a tap anywhere else.

for (const menu of document.querySelectorAll("[data-menu]")) {
  document.addEventListener("pointerdown", (event) => {
    if (menu.open && !menu.contains(event.target)) menu.open = false;
  });
  menu.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !menu.open) return;
    menu.open = false;
    menu.firstElementChild.focus();
  });
}
