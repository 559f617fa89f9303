// Pictures light by light: read from the server's file, and mixed into what the screen shows.
//
//   const lights = await readLights("/picture/lights/" + mark);
//   mix(lights, weights, canvas);     a weight for each light: light adds up
//
// The file: a line of JSON, then half floats, light by light; see store/light_files.py.

const STEPS = 16383; // of the curve, as when the server saves a picture
const curve = new Uint8ClampedArray(STEPS + 1).map((_, at) => {
  const linear = at / STEPS;
  return 255 * (linear < 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055);
});

let halves = null;

/** The number that each of all half floats stands for. */
function halfTable() {
  if (halves) return halves;
  halves = new Float32Array(65536);
  for (let bits = 0; bits < 65536; bits += 1) {
    const sign = bits & 0x8000 ? -1 : 1;
    const power = (bits >> 10) & 31;
    const part = bits & 1023;
    if (power === 0) halves[bits] = sign * part * 2 ** -24;
    else if (power === 31) halves[bits] = 0;
    else halves[bits] = sign * (1 + part / 1024) * 2 ** (power - 15);
  }
  return halves;
}

/** Fetch a file of pictures light by light; null where there is none. */
export async function readLights(address) {
  const answer = await fetch(address, { cache: "no-cache" });
  if (!answer.ok) return null;
  const bytes = new Uint8Array(await answer.arrayBuffer());
  const end = bytes.indexOf(10);
  const head = JSON.parse(new TextDecoder().decode(bytes.subarray(0, end)));
  const count = head.rows * head.columns * 3;
  const bits = new Uint16Array(bytes.buffer, end + 1, count * head.lights.length);
  const table = halfTable();
  const images = head.lights.map((_, number) => {
    const image = new Float32Array(count);
    const from = number * count;
    for (let k = 0; k < count; k += 1) image[k] = table[bits[from + k]];
    return image;
  });
  return { ...head, images };
}

/** Draw the sum of some lights, each with its weight, on a canvas. */
export function mix(lights, weights, canvas) {
  const { rows, columns, images } = lights;
  const sum = lights.sum ?? (lights.sum = new Float32Array(rows * columns * 3));
  sum.fill(0);
  images.forEach((image, number) => {
    const weight = weights[number];
    if (weight === 0) return;
    for (let k = 0; k < sum.length; k += 1) sum[k] += weight * image[k];
  });
  if (canvas.width !== columns || canvas.height !== rows) {
    canvas.width = columns;
    canvas.height = rows;
  }
  const pixels = lights.pixels ?? (lights.pixels = new ImageData(columns, rows));
  const out = pixels.data;
  for (let k = 0, at = 0; k < sum.length; k += 3, at += 4) {
    for (let part = 0; part < 3; part += 1) {
      const value = sum[k + part] * STEPS + 0.5;
      out[at + part] = curve[value < STEPS ? value | 0 : STEPS];
    }
    out[at + 3] = 255;
  }
  canvas.getContext("2d").putImageData(pixels, 0, 0);
}
