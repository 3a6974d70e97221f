// A later release of the app, made from the built site: the same but for its
// style sheet, and so with another build name, file list and worker.

import { createHash } from "node:crypto";
import { cp, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";

/**
 * Copies `site` into a folder of its own as the release after it.
 * @returns {Promise<{ site: string, build: string, remove: () => Promise<void> }>}
 */
export async function laterRelease(site = process.env.FAYING_SITE) {
  const folder = await mkdtemp(join(tmpdir(), "faying-release-"));
  await cp(site, folder, { recursive: true });
  const description = JSON.parse(await readFile(join(folder, "build.json"), "utf8"));
  const sheet = `${await readFile(join(folder, description.css), "utf8")}\n:root { --later-release: 1; }\n`;
  const css = `/pkg/style-${short(sheet)}.css`;
  const build = short(`${description.build} and after`);
  const renamed = (list) => list.map((path) => (path === description.css ? css : path));

  await writeFile(join(folder, css), sheet);
  const worker = (await readFile(join(folder, "sw.js"), "utf8"))
    .replaceAll(JSON.stringify(description.build), JSON.stringify(build))
    .replaceAll(JSON.stringify(description.css), JSON.stringify(css));
  await replace(join(folder, "sw.js"), worker);
  const later = {
    ...description,
    build,
    css,
    precache: renamed(description.precache),
    files: renamed(description.files),
    kept: [description.css],
  };
  await writeFile(join(folder, "build.json"), JSON.stringify(later));
  return { site: folder, build, remove: () => rm(folder, { recursive: true, force: true }) };
}

/** Writes a file whose compressed copies would otherwise still hold the old text. */
async function replace(path, text) {
  await writeFile(path, text);
  for (const copy of [`${path}.br`, `${path}.gz`]) await rm(copy, { force: true });
}

function short(text) {
  return createHash("sha256").update(text).digest("hex").slice(0, 12);
}
