// No way past a hold point: not by a photo or a note on the step behind it, not by unticking it, not by
// skipping it. The inspector accepts that it is skipped, and work goes on.

import { ready } from "../../support/app.mjs";
import { accessible } from "../../support/axe.mjs";
import { desk, phone } from "../../support/browser.mjs";
import { allSent, signIn } from "../../support/people.mjs";
import { photoFiles } from "../../support/photos.mjs";
import { expect, test } from "../../support/server.mjs";
import { inspect, offer, openJob, photograph, WORKING_RIVETS as JOB } from "../../support/work.mjs";

const HOLD_POINT = "Survey which rivets work, and why";
const BEHIND = "Decide the fastener for each hole";

test.describe.configure({ timeout: 240_000 });

test("a photo opens no way past a hold point, and neither does skipping or unticking it", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const [hangar, office] = [await browser.newContext(phone), await browser.newContext(desk)];
  const [mechanic, inspector] = [await hangar.newPage(), await office.newPage()];
  const photos = await photoFiles(1);
  try {
    await signIn(mechanic, server.url, "mechanic");
    await openJob(mechanic, JOB);
    const job = mechanic.url();
    const open = async (title) => {
      await mechanic.goto(job);
      await ready(mechanic);
      await mechanic.locator('main a[href*="/steps/"]', { hasText: title }).first().click();
      await mechanic.waitForURL("**/steps/**");
      await expect(mechanic.locator(".step-page h1")).toHaveText(title);
    };
    const further = mechanic.locator(".dock").getByRole("button", { name: /^(Start|Finish|Offer)$/ });

    // Recorded on, it is in work, and held all the same.
    await open(BEHIND);
    await photograph(mechanic, photos.files);
    await expect(mechanic.locator(".step-page .badge", { hasText: "in work" })).toBeVisible();
    await expect(mechanic.getByText(`the hold point “${HOLD_POINT}” is not accepted`)).toBeVisible();
    await expect(mechanic.getByRole("link", { name: "Go to the hold point" })).toBeVisible();
    await expect(further).toHaveCount(0);
    await accessible(mechanic);

    // A mechanic can't untick it.
    await mechanic.getByRole("link", { name: "Go to the hold point" }).click();
    await expect(mechanic.locator(".step-page h1")).toHaveText(HOLD_POINT);
    await mechanic.getByRole("button", { name: "Alter", exact: true }).click();
    const sheet = mechanic.locator("dialog[open]");
    await expect(sheet.getByRole("checkbox", { name: /^Hold point/ })).toBeDisabled();
    await expect(sheet.getByText("Only a lead or an inspector can take a hold point away.")).toBeVisible();
    await accessible(mechanic);
    await mechanic.keyboard.press("Escape");
    await expect(sheet).toBeHidden();

    // Skipped, it holds until the inspector accepts that.
    await mechanic.getByRole("button", { name: "Skip", exact: true }).click();
    await sheet.getByLabel("Why this step is skipped").fill("The row was surveyed last week, under another job.");
    await sheet.getByRole("button", { name: "Save" }).click();
    await expect(sheet).toBeHidden();
    await open(BEHIND);
    await expect(mechanic.getByText("is skipped, and nobody has accepted that")).toBeVisible();
    await expect(further).toHaveCount(0);
    await open(HOLD_POINT);
    await offer(mechanic, "Photos are in the other job.");
    await allSent(mechanic);

    await signIn(inspector, server.url, "inspector");
    await allSent(inspector);
    await inspect(inspector, server.url, HOLD_POINT);
    await expect(inspector.getByText("The row was surveyed last week, under another job.")).toBeVisible();
    await inspector.getByRole("button", { name: "Accept", exact: true }).click();
    await allSent(inspector);
    await expect(mechanic.locator(".step-page .badge", { hasText: "accepted" }).first()).toBeVisible();
    await open(BEHIND);
    await expect(mechanic.getByText("Held back.")).toBeHidden();
    await expect(further).toHaveText(["Finish"]);
  } finally {
    await photos.remove();
    await hangar.close();
    await office.close();
  }
});
