// What a phone alone must keep, whatever happens to its browser.

import { killTab, ready } from "../support/app.mjs";
import { signIn } from "../support/people.mjs";
import { photoFiles } from "../support/photos.mjs";
import { test, expect } from "../support/server.mjs";
import { openFirstStep, openJob, photograph } from "../support/work.mjs";

const JOB = {
  title: "Killed in the middle",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Four rivets on the left side smear.",
  template: "Replacement of working rivets",
};

test("what was typed and photographed survives a killed tab", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  const photos = await photoFiles(1);
  await signIn(page, server.url, "mechanic");
  await context.setOffline(true);
  await openJob(page, JOB);
  await openFirstStep(page);
  await photograph(page, photos.files);
  const address = page.url();
  await page.locator(".step-page textarea").first().fill("Half a sentence");
  await page.waitForTimeout(600);
  await killTab(page);

  const again = await context.newPage();
  await again.goto(address);
  await ready(again);
  await expect(again.locator(".step-page .photo")).toHaveCount(1);
  await expect(again.locator(".step-page textarea").first()).toHaveValue("Half a sentence");
  await photos.remove();
});

