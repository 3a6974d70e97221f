// A photo as a phone's camera takes it: twelve megapixels, three to five megabytes.

const WIDTH = 4032;
const HEIGHT = 3024;
const LEAST_BYTES = 3_000_000;
const MOST_BYTES = 5_000_000;

/** Draws one in a page and gives its JPEG. */
export async function cameraPhoto(page) {
  const base64 = await page.evaluate(draw, { width: WIDTH, height: HEIGHT, most: MOST_BYTES });
  const jpeg = Buffer.from(base64, "base64");
  if (jpeg.length < LEAST_BYTES || jpeg.length > MOST_BYTES) throw new Error(`the photo has ${jpeg.length} bytes`);
  return jpeg;
}

/** In the page: light and shade, a row of rivets, grain, and a sensor's noise. */
async function draw({ width, height, most }) {
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext("2d");
  const light = context.createLinearGradient(0, 0, width, height);
  light.addColorStop(0, "#c9d2d6");
  light.addColorStop(0.55, "#7d8a90");
  light.addColorStop(1, "#2e3538");
  context.fillStyle = light;
  context.fillRect(0, 0, width, height);
  let seed = 1;
  const random = () => (seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0) / 2 ** 32;
  for (let mark = 0; mark < 4000; mark++) {
    const [x, y, size] = [random() * width, random() * height, 2 + random() * 60];
    context.fillStyle = `hsl(${random() * 60 + 10} 25% ${random() * 70}% / 0.15)`;
    context.fillRect(x, y, size * 4, size / 2);
  }
  for (let rivet = 0; rivet < 12; rivet++) {
    const [x, y] = [180 + rivet * 330, height / 2 + 60 * Math.sin(rivet)];
    const head = context.createRadialGradient(x - 30, y - 30, 5, x, y, 90);
    head.addColorStop(0, "#f4f6f7");
    head.addColorStop(1, "#3b4246");
    context.fillStyle = head;
    context.beginPath();
    context.arc(x, y, 90, 0, 2 * Math.PI);
    context.fill();
  }
  const pixels = context.getImageData(0, 0, width, height);
  const data = pixels.data;
  for (let at = 0; at < data.length; at += 4) {
    const noise = (random() + random() - 1) * 14;
    data[at] += noise;
    data[at + 1] += noise;
    data[at + 2] += noise;
  }
  context.putImageData(pixels, 0, 0);
  for (let quality = 0.95; ; quality -= 0.03) {
    const jpeg = await canvas.convertToBlob({ type: "image/jpeg", quality });
    if (jpeg.size > most) continue;
    const reader = new FileReader();
    const read = new Promise((resolve) => (reader.onload = resolve));
    reader.readAsDataURL(jpeg);
    await read;
    return reader.result.slice(reader.result.indexOf(",") + 1);
  }
}
