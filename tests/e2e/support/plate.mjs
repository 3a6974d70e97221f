// A photo of a plate whose geometry is known: a row of holes near its edge and a
// card on it, seen at a slant. Drawn in a page, pixel by pixel.

/** Pixels. */
export const PHOTO = { width: 2000, height: 1500 };
/** Millimetres: an ISO/IEC 7810 ID-1 card's corners on the plate, in order around it. */
const CARD = [[30, 30], [115.6, 30], [115.6, 83.98], [30, 83.98]];
/** Holes of 3.2 mm; the third is as near to the edge as two diameters of a 1/8 in rivet, and a bit. */
export const HOLES = [[30, 8], [49.05, 8], [68.1, 6.4], [87.15, 8], [106.2, 8]];
const RADIUS = 1.6;
/** Points along the plate's edge. */
const EDGE = [[20, 0], [120, 0]];

/** Where a camera is: focal length in pixels, slant and roll in radians, distance in millimetres. */
const SLANTED = { focal: 1900, slant: 0.45, roll: 0.06, distance: 165, over: [70, 38] };

/** From millimetres of the plate, y up, to homogeneous pixels: three rows. */
function homography({ focal, slant, roll, distance, over }) {
  const [cs, ss, cr, sr] = [Math.cos(slant), Math.sin(slant), Math.cos(roll), Math.sin(roll)];
  const x = [cr, sr, 0];
  const y = [sr * cs, -cr * cs, -ss];
  const at = [0, 1, 2].map((row) => (row === 2 ? distance : 0) - x[row] * over[0] - y[row] * over[1]);
  const camera = [0, 1, 2].map((row) => [x[row], y[row], at[row]]);
  const middle = [PHOTO.width / 2, PHOTO.height / 2];
  const row = (of) => [0, 1, 2].map((column) => focal * camera[of][column] + middle[of] * camera[2][column]);
  return [row(0), row(1), camera[2]];
}

/** What a camera sees of the plate: pixels of its points, and the photo. */
function seenBy(camera) {
  const map = homography(camera);
  const seen = ([x, y]) => {
    const [u, v, w] = map.map((row) => row[0] * x + row[1] * y + row[2]);
    return { x: u / w, y: v / w };
  };
  const scene = { ...PHOTO, seen: map, holes: HOLES, radius: RADIUS, card: [CARD[0], CARD[2]] };
  return {
    corners: CARD.map(seen),
    edge: EDGE.map(seen),
    holes: HOLES.map(seen),
    /** Draws it in a page and gives its JPEG. */
    photo: async (page) => Buffer.from(await page.evaluate(draw, scene), "base64"),
  };
}

export const slanted = seenBy(SLANTED);
export const squareOn = seenBy({ ...SLANTED, slant: 0, roll: 0 });

/** In the page: four looks per pixel, light that falls off, a sensor's noise. */
async function draw({ width, height, seen, holes, radius, card }) {
  const inverse = invert(seen);
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext("2d");
  const picture = context.createImageData(width, height);
  let seed = 1;
  const random = () => (seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0) / 2 ** 32;
  for (let row = 0; row < height; row++) {
    for (let column = 0; column < width; column++) {
      let sum = 0;
      for (const [right, down] of [[0.25, 0.25], [0.75, 0.25], [0.25, 0.75], [0.75, 0.75]]) {
        const [x, y, w] = inverse.map((it) => it[0] * (column + right) + it[1] * (row + down) + it[2]);
        sum += shade(x / w, y / w);
      }
      const grey = sum / 4 + (random() + random() - 1) * 6;
      picture.data.set([grey, grey, grey + 4, 255], 4 * (row * width + column));
    }
  }
  context.putImageData(picture, 0, 0);
  const jpeg = await canvas.convertToBlob({ type: "image/jpeg", quality: 0.92 });
  const reader = new FileReader();
  const read = new Promise((resolve) => (reader.onload = resolve));
  reader.readAsDataURL(jpeg);
  await read;
  return reader.result.slice(reader.result.indexOf(",") + 1);

  function shade(x, y) {
    if (y < 0) return 70;
    if (x > card[0][0] && x < card[1][0] && y > card[0][1] && y < card[1][1]) return 226;
    if (holes.some(([left, up]) => (x - left) ** 2 + (y - up) ** 2 < radius ** 2)) return 38;
    return 168 - 0.25 * x;
  }

  function invert([[a, b, c], [d, e, f], [g, h, i]]) {
    const rows = [
      [e * i - f * h, c * h - b * i, b * f - c * e],
      [f * g - d * i, a * i - c * g, c * d - a * f],
      [d * h - e * g, b * g - a * h, a * e - b * d],
    ];
    return rows;
  }
}
