// A phone takes a twelve-megapixel photo into a step, without a network.
//
// From the input's `change`, which is when the camera hands the photo over, until
//   - its thumbnail is seen: a small picture of it is in the step, in whichever
//     tile, decoded, with a size, and painted;
//   - it is saved: the same, in the tile of a photo that is kept on the phone.
// The shot itself, shown while it is being saved, is no thumbnail: it is painted
// only after all of it was decoded, and a page isn't told when that is.

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
/** A thumbnail's width in pixels at most. */
const SMALL = 1024;
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
  try {
    for (let run = 0; run < RUNS; run++) {
      const file = join(folder, `${run}.jpg`);
      await writeFile(file, unique(jpeg, `${folder} ${run}`));
      shots.push(await shoot(page, file));
    }
  } finally {
    await rm(folder, { recursive: true });
  }
  report("thumbnail of a 12-megapixel photo", shots.map((shot) => shot.thumbnail), BUDGET_MS);
  report("12-megapixel photo saved, with its thumbnail", shots.map((shot) => shot.saved));
});

/** @returns {Promise<{ thumbnail: number, saved: number }>} milliseconds since the photo was handed over */
async function shoot(page, file) {
  const tiles = page.locator(".step-page .photo:not([data-saving]) img");
  const before = await tiles.count();
  await page.locator(".step-page .photos").evaluate(bringIntoView);
  await page.evaluate(watch, SMALL);
  const marks = await measured(page, () => page.locator(".dock input[type=file]").setInputFiles(file));
  await expect(tiles).toHaveCount(before + 1);
  await expect(page.locator(".step-page .photo[data-saving]")).toHaveCount(0);
  await expect(tiles.last()).toBeInViewport({ ratio: 0.9 });
  // What follows a shot belongs to that shot, not to the next one.
  await page.waitForTimeout(1500);
  return marks;
}

/** In the page: the strip's end in the upper half, free of the bar and of what is said in passing. */
function bringIntoView(strip) {
  scrollBy(0, strip.getBoundingClientRect().bottom - 0.4 * innerHeight);
}

/** In the page, before a shot: notes when its thumbnail is seen. */
function watch(most) {
  const marks = {};
  const known = new Set(document.querySelectorAll(".step-page .photo img"));
  let start;
  addEventListener("change", () => (start = performance.now()), { capture: true, once: true });
  // A frame's callbacks run before it is painted, a message sent from there after it.
  const painted = new MessageChannel();
  painted.port1.onmessage = ({ data: saved }) => {
    const now = performance.now() - start;
    marks.thumbnail ??= now;
    if (!saved || marks.saved) return;
    marks.saved = now;
    console.debug(`measured ${JSON.stringify(marks)}`);
  };
  const follow = async (image) => {
    known.add(image);
    if (!image.complete) await new Promise((resolve) => image.addEventListener("load", resolve));
    if (image.naturalWidth === 0 || image.naturalWidth > most) return;
    await image.decode();
    requestAnimationFrame(() => {
      if (image.isConnected) painted.port2.postMessage(!image.closest("[data-saving]"));
    });
  };
  const observer = new MutationObserver(() => {
    for (const image of document.querySelectorAll(".step-page .photo img")) if (!known.has(image)) follow(image);
  });
  observer.observe(document.body, { subtree: true, childList: true });
}
