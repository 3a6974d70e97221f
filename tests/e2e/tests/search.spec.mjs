// Searching: where a batch went, by deep link and by hand, with and without a network.

import { ready } from "../support/app.mjs";
import { Desk, uuid } from "../support/desk.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";

test("where a batch went is found by its beginning, and the address says so", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  const desk = await Desk.signIn(server.url, "lead");
  const step = uuid();
  const job = await desk.openJob([
    { kind: "job.v1", set: { title: "Re-rivet the spat", registration: "ZZ-SPT", part: "Wheel spat, rückwärtig" } },
    { kind: "step.v1", id: step, set: { title: "Set the rivets", order: "80" } },
    { kind: "hardware.v1", id: uuid(), step, set: { part_number: "MS20470AD4-5", quantity: 12, batch: "LOT-77/A" } },
  ]);
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await page.getByRole("link", { name: "Search parts and batches" }).click();
  await expect(page.getByRole("heading", { name: "Search" })).toBeVisible();
  await expect(page.getByText("Where did a batch go")).toBeVisible();

  const field = page.getByLabel("Words to search for");
  const hits = page.locator("main .hits > li");
  await field.fill("lot-77");
  await expect(hits).toHaveCount(1);
  await expect(hits).toContainText("MS20470AD4-5");
  await expect(hits).toContainText("12 used · batch LOT-77/A");
  await expect(hits).toContainText("ZZ-SPT · Wheel spat, rückwärtig · Re-rivet the spat · Set the rivets");
  await expect(page).toHaveURL(/\/search\?q=lot%2D77$/);

  // From the field to the finds by key; back to the same words.
  await field.press("ArrowDown");
  await page.keyboard.press("Enter");
  await page.waitForURL(`**/jobs/*/${job}/steps/${step}`);
  await page.goBack();
  await expect(field).toHaveValue("lot-77");
  await expect(hits).toHaveCount(1);

  await page.goto(`${server.url}/search?q=ruckwartig%20zz`);
  await ready(page);
  await expect(hits).toHaveCount(1);
  await expect(hits).toContainText("Re-rivet the spat");
  await field.fill("no such batch");
  await expect(page.getByText("Nothing found")).toBeVisible();
  await field.fill("' OR 1=1 --");
  await expect(page.getByText("Nothing found")).toBeVisible();
  await field.fill("x".repeat(201));
  await expect(page.getByText("201 characters are too many")).toBeVisible();

  // Without a network: what this device can say, and that it is not all.
  await context.setOffline(true);
  await field.fill("spat");
  await expect(page.getByText("The server can't be reached")).toBeVisible();
  await expect(hits).toHaveCount(1);
  await field.fill("lot-77");
  await expect(page.getByText("Batches and part numbers are searched for by the server.")).toBeVisible();
  await context.setOffline(false);
  await field.press("Enter");
  await expect(hits).toContainText("MS20470AD4-5");
});
