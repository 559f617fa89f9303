// Filters take effect at once; arrow keys go from frame to frame.

const form = () => document.querySelector("[data-filters]");

document.addEventListener("change", (event) => {
  if (form()?.contains(event.target)) form().requestSubmit();
});
document.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
  if (event.target.matches("input, select, textarea, button")) return;
  const rel = { ArrowLeft: "prev", ArrowRight: "next" }[event.key];
  const link = rel && document.querySelector(`main a[rel="${rel}"]`);
  if (link) {
    event.preventDefault();
    link.click();
  }
});
