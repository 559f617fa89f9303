// A file that is dropped on a form with data-drop is sent with it.

export function dropping() {
  for (const form of document.querySelectorAll("[data-drop]")) {
    const input = form.querySelector("input[type=file]");
    const over = (on) => (event) => {
      if (!event.dataTransfer?.types.includes("Files")) return;
      event.preventDefault();
      form.toggleAttribute("data-over", on);
    };
    form.addEventListener("dragenter", over(true));
    form.addEventListener("dragover", over(true));
    form.addEventListener("dragleave", over(false));
    form.addEventListener("drop", (event) => {
      over(false)(event);
      if (event.dataTransfer.files.length === 0) return;
      input.files = event.dataTransfer.files;
      if (form.dataset.drop !== "wait") form.requestSubmit();
    });
  }
}
