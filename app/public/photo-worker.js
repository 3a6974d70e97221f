// Makes a photo's small picture away from the page's own thread: to decode twelve
// megapixels takes a phone a while, and the screen must answer meanwhile.
//
// Asked with `{ photo, side, width }` and a port; `width` is given where a picture is
// too large to be decoded in full. Answers on the port with `{ jpeg, width, height }`,
// the size as it was decoded, upright; or with null where this browser can't decode it.

self.addEventListener("message", async ({ data, ports: [port] }) => {
  const small = await shrink(data).catch(() => null);
  port.postMessage(small, small ? [small.jpeg] : []);
});

async function shrink({ photo, side, width }) {
  const reduced = width ? { resizeWidth: width, resizeQuality: "medium" } : {};
  const bitmap = await createImageBitmap(photo, { imageOrientation: "from-image", ...reduced });
  const size = { width: bitmap.width, height: bitmap.height };
  const scale = Math.min(1, side / Math.max(size.width, size.height));
  const canvas = new OffscreenCanvas(scaled(size.width, scale), scaled(size.height, scale));
  const context = canvas.getContext("2d");
  context.imageSmoothingQuality = "high";
  context.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
  const blob = await canvas.convertToBlob({ type: "image/jpeg", quality: 0.8 });
  return { jpeg: await blob.arrayBuffer(), ...size };
}

function scaled(length, scale) {
  return Math.max(1, Math.ceil(length * scale));
}
