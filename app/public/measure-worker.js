// Measures on a photo away from the page's own thread. The module that does it is
// fetched with the first photo, and kept offline with everything else.
//
// Asked with `{ deed, … }` and a port, on which it answers; what went wrong comes as
// `{ failed }` in words:
//   load      { photo, width }   a photo's bytes; `width` where it is too large to be
//                                decoded in full; answers `{ bitmap }`, or `{ unreadable }`
//   find      {}                 JSON: all holes of the photo
//   snap      { x, y, reach }    JSON: the hole that a tap means
//   work_out  { question }       JSON: places and distances

/** Rows that are read from the canvas at a time: the whole of it would be 48 MB more. */
const ROWS = 256;

const module = import("__MEASURE_JS__").then(async (measure) => {
  await measure.default({ module_or_path: "__MEASURE_WASM__" });
  return measure;
});
// Whoever asks for it hears of it.
module.catch(() => undefined);
let photo;

const deeds = {
  load,
  find: async () => ({ json: photo.find_holes() }),
  snap: async ({ x, y, reach }) => ({ json: photo.snap(x, y, reach) }),
  work_out: async ({ question }) => ({ json: (await module).work_out(question) }),
};

self.addEventListener("message", async ({ data, ports: [port] }) => {
  const answer = await deeds[data.deed](data).catch((error) => ({ failed: `${error}` }));
  port.postMessage(answer, answer.bitmap ? [answer.bitmap] : []);
});

async function load({ photo: bytes, width }) {
  const reduced = width ? { resizeWidth: width, resizeQuality: "high" } : {};
  const decoded = createImageBitmap(bytes, { imageOrientation: "from-image", ...reduced });
  const bitmap = await decoded.catch(() => undefined);
  if (!bitmap) return { unreadable: true };
  const { Photo } = await module;
  photo?.free();
  photo = new Photo(bitmap.width, bitmap.height);
  const canvas = new OffscreenCanvas(bitmap.width, ROWS);
  const context = canvas.getContext("2d", { willReadFrequently: true });
  for (let top = 0; top < bitmap.height; top += ROWS) {
    const rows = Math.min(ROWS, bitmap.height - top);
    context.drawImage(bitmap, 0, top, bitmap.width, rows, 0, 0, bitmap.width, rows);
    photo.add_rows(context.getImageData(0, 0, bitmap.width, rows).data);
  }
  return { bitmap };
}
