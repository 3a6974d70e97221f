// A layup of twenty plies: from a tap on an angle until its ply stands in the drawing and in the
// list, with what the stack comes to. The page's own work, in one task, must fit into a frame.

import { signIn, allSent } from "../support/people.mjs";
import { test } from "../support/server.mjs";
import { openJob } from "../support/work.mjs";
import { RUNS, report, slow, unwatched } from "./measure.mjs";

const PLIES = 20;
const BUDGET_MS = 16;

test.use(unwatched);
test.describe.configure({ timeout: 300_000 });
test.skip(({ isMobile }) => !isMobile, "a phone's bench");

test("a tap on a layup of 20 plies", async ({ page, freshServer }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await openJob(page, {
    title: "Twenty plies", registration: "ZZ-FAY", part: "Fairing", discrepancy: "Delaminated.",
    template: "Replacement of working rivets",
  });
  await page.getByRole("button", { name: "Add a layup" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Name of the layup").fill("Twenty");
  await sheet.getByRole("button", { name: "Save" }).click();
  await page.locator("main a[href*='/layups/']", { hasText: "Twenty" }).click();
  await page.getByLabel("Material", { exact: true })
    .selectOption({ label: "E-glass style 7781, dry (typical values)" });
  const names = ["0°", "45°", "90°", "-45°"];
  for (let ply = 1; ply < PLIES; ply++) {
    await page.getByRole("button", { name: names[ply % 4], exact: true }).click();
  }
  await page.locator(".arrange > li").nth(PLIES - 2).waitFor();
  await allSent(page);

  await slow(page);
  const taps = [];
  for (let run = 0; run < RUNS; run++) {
    await page.waitForTimeout(1500);
    taps.push(await page.evaluate(tapped, PLIES));
    await page.waitForTimeout(1500);
    const top = page.locator(".arrange > li").first();
    await top.locator(".choose").click();
    await top.getByRole("button", { name: "Take out" }).click();
  }
  report("tap on a layup of 20 plies, drawn and summed up", taps, BUDGET_MS);
});

/** In the page: the work from the tap until the ply is in the document, without the painting. */
async function tapped(plies) {
  const button = [...document.querySelectorAll(".palette-angles button")][1];
  const thickness = () => document.querySelector("[data-summary] dd")?.textContent;
  const before = thickness();
  const began = performance.now();
  button.click();
  // Signals settle in microtasks: what is not there after them would be seen a frame later.
  for (let turn = 0; turn < 50; turn++) await Promise.resolve();
  const took = performance.now() - began;
  const drawn = document.querySelectorAll(".stack-band").length;
  if (drawn !== plies || thickness() === before) throw new Error(`not seen in one go: ${drawn} plies, ${thickness()}`);
  return took;
}
