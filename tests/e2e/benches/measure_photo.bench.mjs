// Holes found in a twelve-megapixel photo, in Chromium, by the module and the worker
// that the app uses. Measured in a page at its side, so that nothing but the module
// is timed; then on the screen, from the button until the proposals are there.

import { writeFile, mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { opened, step } from "../support/measure.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";
import { openJob } from "../support/work.mjs";
import { RUNS, report, unwatched } from "./measure.mjs";
import { cameraPhoto } from "./photo.mjs";

const BUDGET_MS = 150;
const JOB = {
  title: "Measured for a bench",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "A row of holes.",
  template: "Replacement of working rivets",
};

test.use(unwatched);
test.describe.configure({ timeout: 300_000 });
test.skip(({ isMobile }) => !isMobile, "a phone's bench");

test("holes of a twelve-megapixel photo", async ({ page, freshServer }) => {
  const server = await freshServer({ demo: true });
  const jpeg = await cameraPhoto(page);
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  const found = await page.evaluate(inWorker, { photo: jpeg.toString("base64"), runs: RUNS });
  expect(found.holes).toBeGreaterThan(0);
  report(`12-megapixel photo decoded and read, ${found.holes} holes in it`, found.loads);
  report("holes found in a 12-megapixel photo", found.finds, BUDGET_MS);
  report("a tap snapped in it", found.snaps);

  const shown = await onScreen(page, jpeg);
  report("the same on the screen, from the button to the proposals", shown);
});

/** In the page: asks the app's own worker. */
async function inWorker({ photo, runs }) {
  const bytes = Uint8Array.from(atob(photo), (letter) => letter.charCodeAt(0));
  const worker = new Worker(document.documentElement.getAttribute("data-measure-worker"));
  const ask = (question) => {
    const { port1, port2 } = new MessageChannel();
    const answered = new Promise((resolve) => (port1.onmessage = ({ data }) => resolve(data)));
    worker.postMessage(question, [port2]);
    return answered;
  };
  const timed = async (question, into) => {
    const start = performance.now();
    const answer = await ask(question);
    into.push(performance.now() - start);
    if (answer.failed) throw new Error(answer.failed);
    return answer;
  };
  const [loads, finds, snaps] = [[], [], []];
  let holes = 0;
  for (let run = 0; run < runs; run++) {
    const loaded = await timed({ deed: "load", photo: new Blob([bytes], { type: "image/jpeg" }) }, loads);
    loaded.bitmap.close();
    // The first call of a module is compiled as it runs.
    if (run === 0) await ask({ deed: "find" });
    const found = JSON.parse((await timed({ deed: "find" }, finds)).json);
    holes = found.said.length;
    const { x, y } = found.said[0].centre;
    await timed({ deed: "snap", x: x + 20, y: y - 15, reach: 100 }, snaps);
  }
  worker.terminate();
  return { loads, finds, snaps, holes };
}

async function onScreen(page, jpeg) {
  await openJob(page, JOB);
  await page.getByRole("button", { name: "Add a joint" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Name of the joint").fill("Bench");
  await sheet.getByRole("button", { name: "Save" }).click();
  await page.locator("main a[href*='/joints/']", { hasText: "Bench" }).click();
  await page.getByRole("button", { name: "Add holes" }).click();
  await sheet.getByRole("radio", { name: "On a photo" }).check();
  const folder = await mkdtemp(join(tmpdir(), "faying-bench-"));
  const file = join(folder, "photo.jpg");
  await writeFile(file, jpeg);
  await sheet.locator("input[type=file]").setInputFiles(file);
  await expect(sheet.locator(".photo:not([data-saving]) button")).toHaveCount(1, { timeout: 60_000 });
  await rm(folder, { recursive: true });
  await sheet.locator(".photo button").first().click();
  await opened(page);
  await step(page, "Holes");
  const runs = [];
  for (let run = 0; run < RUNS; run++) {
    runs.push(await page.evaluate(async () => {
      const button = [...document.querySelectorAll("button")].find((it) => it.textContent.trim() === "Find holes");
      const forget = [...document.querySelectorAll("button")].find((it) => it.textContent.trim() === "Forget the rest");
      forget?.click();
      await new Promise((resolve) => setTimeout(resolve, 200));
      const start = performance.now();
      button.click();
      while (!document.querySelector(".mark--maybe")) await new Promise(requestAnimationFrame);
      return performance.now() - start;
    }));
  }
  return runs;
}
