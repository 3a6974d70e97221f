// Real JPEG photos for the file input: the demo's pictures, each made unique.

import { createHash } from "node:crypto";
import { mkdtemp, readFile, readdir, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const DEMO_PHOTOS = fileURLToPath(new URL("../../../server/demo/photos/", import.meta.url));

/**
 * `count` photo files, no two with the same bytes, not even over several calls.
 * `remove()` deletes them.
 * @returns {Promise<{ files: string[], remove: () => Promise<void> }>}
 */
export async function photoFiles(count) {
  const names = (await readdir(DEMO_PHOTOS)).filter((name) => name.endsWith(".jpg")).sort();
  if (names.length === 0) throw new Error(`no demo photos in ${DEMO_PHOTOS}`);
  const folder = await mkdtemp(join(tmpdir(), "faying-photos-"));
  const files = [];
  for (let index = 0; index < count; index++) {
    const name = names[index % names.length];
    const photo = unique(await readFile(join(DEMO_PHOTOS, name)), `${folder} ${index}`);
    const file = join(folder, `${String(index + 1).padStart(2, "0")}-${name}`);
    await writeFile(file, photo);
    files.push(file);
  }
  return { files, remove: () => rm(folder, { recursive: true, force: true }) };
}

/** The same picture with a comment in it: a valid JPEG with a digest of its own. */
export function unique(jpeg, comment) {
  const text = Buffer.from(comment, "utf8");
  const segment = Buffer.alloc(4);
  segment.writeUInt16BE(0xfffe, 0);
  segment.writeUInt16BE(text.length + 2, 2);
  const at = endOfApplicationSegments(jpeg);
  return Buffer.concat([jpeg.subarray(0, at), segment, text, jpeg.subarray(at)]);
}

/** EXIF must stay in front: readers look for it directly after the start. */
function endOfApplicationSegments(jpeg) {
  if (jpeg.readUInt16BE(0) !== 0xffd8) throw new Error("not a JPEG: it does not begin with FFD8");
  let at = 2;
  while (jpeg[at] === 0xff && jpeg[at + 1] >= 0xe0 && jpeg[at + 1] <= 0xef) at += 2 + jpeg.readUInt16BE(at + 2);
  return at;
}

/**
 * One photo of about this many bytes: a demo picture, filled up with comments.
 * @returns {Promise<{ file: string, digest: string, remove: () => Promise<void> }>}
 */
export async function largePhoto(bytes) {
  const { files, remove } = await photoFiles(1);
  let photo = await readFile(files[0]);
  const filling = "flange ".repeat(9000);
  while (photo.length < bytes) photo = unique(photo, `${photo.length} ${filling}`);
  await writeFile(files[0], photo);
  return { file: files[0], digest: createHash("sha256").update(photo).digest("hex"), remove };
}
