// The main job, whole: a mechanic on a phone without a network, an inspector at
// a desk; captured, synced, returned, put right, accepted, recorded.

import { ready } from "../../support/app.mjs";
import { desk, phone } from "../../support/browser.mjs";
import { allSent, signIn } from "../../support/people.mjs";
import { photoFiles } from "../../support/photos.mjs";
import { test, expect } from "../../support/server.mjs";
import { addLine, inspect, offer, openFirstStep, openJob, photograph } from "../../support/work.mjs";

const JOB = {
  title: "Loose rivets, tail-cone fairing",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Four rivets on the left side smear.",
  template: "Replacement of working rivets",
};

test.describe.configure({ timeout: 180_000 });

test("a repair from a phone without a network to the record", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const hangar = await browser.newContext(phone);
  const office = await browser.newContext(desk);
  const mechanic = await hangar.newPage();
  const photos = await photoFiles(3);
  try {
    await signIn(mechanic, server.url, "mechanic");
    await allSent(mechanic);

    // No network, and a cold start.
    await mechanic.close();
    await hangar.setOffline(true);
    const cold = await hangar.newPage();
    await cold.goto(`${server.url}/jobs`);
    await ready(cold);
    await openJob(cold, JOB);
    await openFirstStep(cold);
    const address = cold.url();
    await cold.getByRole("button", { name: "Start", exact: true }).click();
    await photograph(cold, photos.files.slice(0, 2));
    await addLine(cold, "Readings", {
      "What was measured": "Hole 4, widest",
      Value: "0.136",
      Unit: "in",
      "Least accepted": "0.128",
      "Most accepted": "0.132",
    });
    await expect(cold.getByText("0.004 in above the most accepted")).toBeVisible();
    await addLine(cold, "Hardware", { "Part number": "MS20470AD4-5", "How many went in": "4", "Batch or lot": "R-5521" });
    await workOutARivet(cold);
    await cold.goto(address);
    await ready(cold);
    await expect(cold.getByText("0.136", { exact: false }).first()).toBeVisible();
    await offer(cold, "Please look before I drill.");
    await expect(cold.locator(".sync-line")).toContainText(/offline/i);

    // Back in reach: everything arrives, nothing is lost.
    await hangar.setOffline(false);
    await allSent(cold);

    const inspector = await office.newPage();
    await signIn(inspector, server.url, "inspector");
    await allSent(inspector);
    await inspect(inspector, server.url, await stepTitle(cold));
    await expect(inspector.getByText("0.004 in above the most accepted")).toBeVisible();
    await expect(inspector.getByText("MS20470AD4-5")).toBeVisible();
    await inspector.getByRole("button", { name: "Return with findings" }).click();
    await inspector.getByLabel("Finding 1", { exact: true }).fill("Measure hole 4 across the other way too.");
    await inspector.getByRole("button", { name: "Return the step" }).click();

    // The mechanic sees it without doing anything.
    await expect(cold.getByText("Measure hole 4 across the other way too.")).toBeVisible();
    await cold.getByLabel("What you did about it").fill("Measured: 0.130 in across. The hole is oval.");
    await cold.getByRole("button", { name: "Save the answer" }).click();
    await offer(cold, "Measured both ways.");

    await inspect(inspector, server.url, await stepTitle(cold));
    await expect(inspector.getByText("Measured: 0.130 in across. The hole is oval.")).toBeVisible();
    await inspector.getByRole("button", { name: "Accept", exact: true }).click();
    await expect(cold.locator(".step-page .badge", { hasText: "accepted" }).first()).toBeVisible();

    // The record, from the server, without script.
    const paper = await browser.newContext({ ...desk, javaScriptEnabled: false, storageState: await office.storageState() });
    const record = await paper.newPage();
    const [, shop, job] = address.match(/jobs\/([^/]+)\/([^/]+)\/steps/);
    await record.goto(`${server.url}/record/${shop}/${job}`);
    await expect(record.locator("h1")).toContainText(JOB.title);
    // At its step, and over the whole job.
    await expect(record.getByText("MS20470AD4-5")).toHaveCount(2);
    await expect(record.getByText("Measure hole 4 across the other way too.", { exact: false }).first()).toBeVisible();
    expect(await record.locator(".record-photos img").count()).toBe(2);
  } finally {
    await photos.remove();
    await hangar.close();
    await office.close();
  }
});

async function workOutARivet(page) {
  await page.getByRole("link", { name: "New worksheet" }).click();
  await page.getByRole("link", { name: /Rivet length/ }).first().click();
  await page.getByLabel("Its thickness").first().fill("0.032");
  await page.getByLabel("Its thickness").nth(1).fill("0.063");
  await page.getByLabel("Washer under the driven head").fill("0.016");
  await expect(page.getByText("required length", { exact: true })).toBeVisible();
  await page.getByRole("button", { name: "Save the worksheet" }).click();
  await page.waitForURL("**/worksheets/**");
  await expect(page.getByText(/Preview, worked out on this device/)).toBeVisible();
}

async function stepTitle(page) {
  return (await page.locator(".step-page h1").innerText()).replace(/^\d+\.?\s*/, "").trim();
}

test("two devices edit one field: both values stay readable", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const [one, two] = await Promise.all([browser.newContext(desk), browser.newContext(phone)]);
  const [first, second] = [await one.newPage(), await two.newPage()];
  await signIn(first, server.url, "mechanic");
  await signIn(second, server.url, "lead");
  for (const page of [first, second]) {
    await page.getByText("Smears around the tail-cone fairing rivets").first().click();
    await page.waitForURL("**/jobs/**");
    await allSent(page);
  }
  await one.setOffline(true);
  await two.setOffline(true);
  await rename(first, "Left side smears");
  await rename(second, "Four rivets smear");
  await one.setOffline(false);
  await allSent(first);
  await two.setOffline(false);
  await allSent(second);
  for (const page of [first, second]) {
    await expect(page.getByText(/also entered/i).first()).toBeVisible();
    await expect(page.getByText("Left side smears").first()).toBeVisible();
    await expect(page.getByText("Four rivets smear").first()).toBeVisible();
  }
  await one.close();
  await two.close();
});

async function rename(page, title) {
  await page.getByRole("button", { name: "Edit the facts" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("The job in one line").fill(title);
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();
}
