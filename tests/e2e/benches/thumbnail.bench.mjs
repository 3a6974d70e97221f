// A phone takes a twelve-megapixel photo into a step, without a network.
//
// From the input's `change`, which is when the camera hands the photo over, until
//   - the shot is seen at all: the tile that says "being saved" shows it;
//   - its thumbnail is seen: the photo is saved, and the small picture of it is
//     decoded, has a size and was painted in its tile.

import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { allSent, signIn } from "../support/people.mjs";
import { unique } from "../support/photos.mjs";
import { expect, test } from "../support/server.mjs";
import { openFirstStep, openJob } from "../support/work.mjs";
import { RUNS, measured, report, slow, unwatched } from "./measure.mjs";
import { cameraPhoto } from "./photo.mjs";

const BUDGET_MS = 400;
const JOB = {
  title: "Photographed for a bench",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Four rivets on the left side smear.",
  template: "Replacement of working rivets",
};

test.use(unwatched);
test.describe.configure({ timeout: 300_000 });
test.skip(({ isMobile }) => !isMobile, "a phone's bench");

test("a twelve-megapixel photo's thumbnail", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  const folder = await mkdtemp(join(tmpdir(), "faying-bench-"));
  const jpeg = await cameraPhoto(page);
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  // Nothing is sent meanwhile: the server shares this machine.
  await context.setOffline(true);
  await openJob(page, JOB);
  await openFirstStep(page);
  await slow(page);

  const shots = [];
  for (let run = 0; run < RUNS; run++) {
    const file = join(folder, `${run}.jpg`);
    await writeFile(file, unique(jpeg, `${folder} ${run}`));
    shots.push(await shoot(page, file));
  }
  await rm(folder, { recursive: true });
  report("photo of 12 megapixels, seen", shots.map((shot) => shot.seen));
  report("photo of 12 megapixels, thumbnail", shots.map((shot) => shot.thumbnail), BUDGET_MS);
});

/** @returns {Promise<{ seen: number, thumbnail: number }>} milliseconds since the photo was handed over */
async function shoot(page, file) {
  const tiles = page.locator(".step-page .photo:not([data-saving]) img");
  const before = await tiles.count();
  await page.evaluate(watch);
  const marks = await measured(page, () => page.locator(".dock input[type=file]").setInputFiles(file));
  await expect(tiles).toHaveCount(before + 1);
  await expect(page.locator(".step-page .photo[data-saving]")).toHaveCount(0);
  await expect(tiles.last()).toBeInViewport();
  // What follows a shot belongs to that shot, not to the next one.
  await page.waitForTimeout(1500);
  return marks;
}

/** In the page, before a shot: notes when it is seen. */
function watch() {
  const marks = {};
  const known = new Set(document.querySelectorAll(".step-page .photo img"));
  let start;
  addEventListener("change", () => (start = performance.now()), { capture: true, once: true });
  // A frame's callbacks run before it is painted, a message sent from there after it.
  const painted = new MessageChannel();
  painted.port1.onmessage = ({ data: mark }) => {
    if (mark in marks) return;
    marks[mark] = performance.now() - start;
    if (mark === "thumbnail") console.debug(`measured ${JSON.stringify(marks)}`);
  };
  const follow = (image) => {
    known.add(image);
    const saved = !image.closest("[data-saving]");
    // Decoding the shot itself for the sake of measuring would cost what is measured.
    const shown = saved ? image.decode() : loaded(image);
    shown.then(() => {
      requestAnimationFrame(() => {
        if (!image.isConnected || image.naturalWidth === 0) return;
        painted.port2.postMessage(saved ? "thumbnail" : "seen");
      });
    });
  };
  const loaded = (image) =>
    image.complete ? Promise.resolve() : new Promise((resolve) => image.addEventListener("load", resolve));
  const observer = new MutationObserver(() => {
    for (const image of document.querySelectorAll(".step-page .photo img")) if (!known.has(image)) follow(image);
  });
  observer.observe(document.body, { subtree: true, childList: true });
}
