// Time and cost: hours planned against hours worked, prices from the shelf, files of it, all without a network.

import { readFile } from "node:fs/promises";
import { accessible } from "../support/axe.mjs";
import { Desk, uuid } from "../support/desk.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";

test("a job's hours and costs stand beside what was planned, and go into files", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  const desk = await Desk.signIn(server.url, "lead");
  const [step, rivets, resin] = [uuid(), uuid(), uuid()];
  const price = (price, currency, unit) => ({ price, currency, unit });
  await desk.changeShop([
    { kind: "stock.v1", id: rivets, set: { part_number: "MS20470AD4-5", ...price(0.35, "EUR", "each") } },
    { kind: "stock.v1", id: resin, set: { part_number: "Laminating resin", kind: "material", ...price(48, "USD", "kg") } },
  ]);
  const from = Date.now() - 3 * 3_600_000;
  const job = await desk.openJob([
    { kind: "job.v1", set: { title: "Re-rivet the spat", registration: "ZZ-SPT" } },
    { kind: "step.v1", id: step, set: { title: "Set the rivets", order: "80" } },
    { kind: "hardware.v1", id: uuid(), step, set: { part_number: "MS20470AD4-5", quantity: 12, batch: "=LOT", stock: rivets } },
    { kind: "hardware.v1", id: uuid(), step, set: { part_number: "NAS1149", quantity: 2 } },
    { kind: "material.v1", id: uuid(), step, set: { name: "Laminating resin", quantity: "125 g", stock: resin } },
    { kind: "time.v1", id: uuid(), step, set: { person: desk.me.user, started_at: from, stopped_at: from + 5_400_000, note: "bucking" } },
  ]);
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await page.goto(`${server.url}/jobs/${desk.shop}/${job}`);
  await page.getByRole("link", { name: "Time and cost" }).click();
  await expect(page.getByRole("heading", { name: "Time and cost" })).toBeVisible();
  await context.setOffline(true);

  const line = (text) => page.locator("main .lines > li", { hasText: text });
  await expect(line("Set the rivets").first()).toContainText("worked 1 h 30 min");
  await page.getByRole("button", { name: "Plan hours for Set the rivets" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Hours planned").fill("-1");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet.getByText("is below zero")).toBeVisible();
  await sheet.getByLabel("Hours planned").fill("2");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();
  await expect(line("Set the rivets").first()).toContainText("planned 2 h 00 min, worked 1 h 30 min: 30 min less");

  await expect(line("MS20470AD4-5")).toContainText("4.20 EUR");
  await expect(line("NAS1149")).toContainText("not from the shelf");
  await expect(line("Laminating resin")).toContainText("6.00 USD");
  await expect(page.locator("main dd", { hasText: "4.20 EUR" })).toBeVisible();
  await expect(page.locator("main dd", { hasText: "6.00 USD" })).toBeVisible();
  await expect(page.getByText("1 line has no figure")).toBeVisible();
  await accessible(page);

  const hardware = await saved(page, "hardware.csv");
  // The two lines were made in the same millisecond: which comes first is left to chance.
  expect(hardware.split("\r\n")).toContain("Set the rivets,MS20470AD4-5,,12,'=LOT,,0.35,each,4.2,EUR");
  expect((await saved(page, "materials.csv")).split("\r\n")[1]).toMatch(/^Set the rivets,Laminating resin,.*,125 g,,,48,kg,6,USD$/);
  expect((await saved(page, "time.csv")).split("\r\n")[1]).toMatch(/^Set the rivets,2\.00,.+Z,.+Z,1\.50,bucking$/);

  // The record tells the hours.
  await context.setOffline(false);
  await allSent(page);
  await page.goto(`${server.url}/record/${desk.shop}/${job}`);
  await expect(page.locator(".record [aria-label='Working time'] tbody tr").first()).toContainText("30 min less");
});

/** What the button that saves a file hands over. */
async function saved(page, name) {
  const coming = page.waitForEvent("download");
  await page.getByRole("button", { name: `Save ${name}` }).click();
  const download = await coming;
  expect(download.suggestedFilename()).toBe(name);
  return (await readFile(await download.path(), "utf8")).replace(/^\ufeff/, "");
}
