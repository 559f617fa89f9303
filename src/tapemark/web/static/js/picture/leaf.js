// The picture beside the live drawings of the set: made when its leaf is opened for the first time.
// On a phone it has a page of its own.

const leaf = document.getElementById("picture-leaf");
const thumb = document.querySelector('[data-thumb="picture"]');
const narrow = window.matchMedia("(max-width: 56rem)");
let made = null;

document.addEventListener("click", (event) => {
  if (!thumb.contains(event.target)) return;
  const { id, picture } = leaf.dataset;
  if (narrow.matches) {
    event.stopImmediatePropagation();
    window.location.assign(`/picture/${id}`);
    return;
  }
  made ??= import("./panel.js").then(({ makePicture }) =>
    makePicture(leaf, { address: picture, id, compact: true }));
}, { capture: true });
