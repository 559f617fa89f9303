// A drill: the mark on the picture, by touch, mouse or arrow keys.

const STEP = 0.01;
const FINE_STEP = 0.002;
const picture = document.getElementById("tapped");
const told = document.getElementById("told-title");

if (told) told.focus({ preventScroll: true });
if (picture?.matches("button")) {
  const mark = document.getElementById("tap-mark");
  const fields = [document.getElementById("tap-x"), document.getElementById("tap-y")];
  const said = document.getElementById("tap-said");
  const refused = document.getElementById("drill-refused");
  let at = fields.every((one) => one.value) ? fields.map((one) => Number(one.value)) : null;

  const put = (x, y) => {
    at = [x, y].map((one) => Math.min(1, Math.max(0, one)));
    fields.forEach((field, number) => (field.value = at[number].toFixed(4)));
    mark.style.left = `${100 * at[0]}%`;
    mark.style.top = `${100 * at[1]}%`;
    mark.hidden = false;
    refused.hidden = true;
    said.textContent = `Mark ${Math.round(100 * at[0])} % across, ${Math.round(100 * at[1])} % down`;
  };
  if (at) put(...at);

  picture.addEventListener("click", (event) => {
    const box = picture.getBoundingClientRect();
    if (event.detail === 0) put(...(at ?? [0.3, 0.5])); // by the keyboard
    else put((event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
  });
  picture.addEventListener("keydown", (event) => {
    const along = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!along || !at) return;
    event.preventDefault();
    const step = event.shiftKey ? FINE_STEP : STEP;
    put(at[0] + along[0] * step, at[1] + along[1] * step * 2);
  });
  picture.closest("form").addEventListener("submit", (event) => {
    if (at) return;
    event.preventDefault();
    refused.textContent = "Tap the picture where a reflection covers an eye.";
    refused.hidden = false;
    picture.focus();
  });
}
