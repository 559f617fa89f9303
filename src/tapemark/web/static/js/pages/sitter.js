// The print button, which needs a script; and the change list, shown as soon as it is chosen.

const print = document.querySelector("[data-print]");
if (print) {
  print.hidden = false;
  print.addEventListener("click", () => window.print());
}
const form = document.querySelector(".way-form");
form?.addEventListener("change", () => form.requestSubmit());
