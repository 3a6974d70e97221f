// The shop's stock on a phone without a network: put on the shelf, used on a step, what is left
// at once and on another person's device; expired only with a reason; search in the catalogue.

import { ready } from "../support/app.mjs";
import { accessible } from "../support/axe.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";
import { openFirstStep, openJob } from "../support/work.mjs";

const JOB = {
  title: "Four rivets",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Four rivets smear.",
  template: "Replacement of working rivets",
};

test.describe.configure({ timeout: 180_000 });

test("what is put on the shelf offline is used on a step, and everybody sees what is left", async ({ page, browser, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);

  // Out of the catalogue, without a network: the fields fill themselves in.
  await page.getByRole("link", { name: "Stock", exact: true }).click();
  await page.getByRole("button", { name: "Add hardware" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Search the catalogue").fill("countersunk 5/32 AD 7/16");
  await sheet.getByRole("button", { name: /^MS20426AD5-7/ }).click();
  await expect(sheet.getByLabel("Part number")).toHaveValue("MS20426AD5-7");
  await expect(sheet.getByText("NAVEDTRA 14315").first()).toBeVisible();
  await sheet.getByLabel("Batch or lot").fill("R-7001");
  await sheet.getByLabel("How much was received").fill("-1");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet.getByText("Is below zero. Accepted: 0 or more")).toBeVisible();
  await sheet.getByLabel("How much was received").fill("50");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();
  await expect(item(page, "MS20426AD5-7")).toContainText("50 left of 50");

  // A step picks it from the shelf.
  await page.goto(`${server.url}/jobs`);
  await ready(page);
  await openJob(page, JOB);
  await openFirstStep(page);
  await add(page, "Hardware");
  await sheet.getByLabel("Search the shelf and the catalogue").fill("r-7001");
  await expect(sheet.getByText("1 on the shelf")).toBeVisible();
  await sheet.locator(".line-link").first().click();
  await expect(sheet.getByText("50 left of 50")).toBeVisible();
  await expect(sheet.getByLabel("Batch or lot")).toHaveValue("R-7001");
  await expect(sheet.getByText("Without a quantity, nothing is taken off the shelf.")).toBeVisible();
  await sheet.getByLabel("How many went in").fill("51");
  await expect(sheet.getByText("More than is left: the shelf says 50.")).toBeVisible();
  await sheet.getByLabel("How many went in").fill("12");
  await expect(sheet.getByText("More than is left")).toBeHidden();
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();
  await expect(page.getByText("from the shelf, 38 left of 50")).toBeVisible();
  const step = page.url();

  // Altered, it counts once; undone, it is back.
  await section(page, "Hardware").getByRole("button", { name: "Alter the hardware line" }).click();
  await sheet.getByLabel("How many went in").fill("20");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(page.getByText("from the shelf, 30 left of 50")).toBeVisible();
  await page.getByRole("button", { name: "Undo" }).last().click();
  await expect(page.getByText("from the shelf, 38 left of 50")).toBeVisible();

  // After a cold start, still without a network; the item says where it went.
  await page.goto(`${server.url}/stock`);
  await ready(page);
  await expect(item(page, "MS20426AD5-7")).toContainText("38 left of 50");
  await item(page, "MS20426AD5-7").click();
  await page.waitForURL("**/stock/*/*");
  const address = page.url();
  await expect(page.locator("main dl").first()).toContainText("Used on jobs12");
  await expect(page.locator("main .line-link").first()).toHaveAttribute("href", new URL(step).pathname);
  await accessible(page);

  // Another person sees it after the sync, by its own address.
  await context.setOffline(false);
  await allSent(page);
  const office = await browser.newContext();
  const inspector = await office.newPage();
  await signIn(inspector, server.url, "inspector");
  await allSent(inspector);
  await inspector.goto(address);
  await ready(inspector);
  await expect(inspector.locator("main h1")).toHaveText("MS20426AD5-7");
  await expect(inspector.locator("main dl").first()).toContainText("Left38");
  await expect(inspector.getByRole("button", { name: "Alter" })).toHaveCount(0);
  await office.close();
});

test("a material's sheet comes with it, and what is expired needs a reason that the record shows", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);
  await openFirstStep(page);
  const sheet = page.locator("dialog[open]");

  // The maker's mix, pot life and one of his cures.
  await add(page, "Materials");
  await sheet.getByLabel("Search the shelf and the catalogue").fill("laminating");
  await sheet.getByRole("button", { name: /^Laminating epoxy/ }).first().click();
  await expect(sheet.getByText("Maker's pot life: 40 min at 23 °C")).toBeVisible();
  await expect(sheet.getByLabel("Mix", { exact: true })).toHaveValue("100 : 28 by weight");
  await sheet.getByRole("button", { name: "40 °C, 10 h" }).click();
  await expect(sheet.getByLabel("Cure, hours")).toHaveValue("10");
  await sheet.getByLabel("How much").fill("a cup");
  await expect(sheet.getByText("can't be counted in kg")).toBeVisible();
  await sheet.getByLabel("How much").fill("166 g");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(page.getByText("from the shelf, 1 kg left of 1.28 kg")).toBeVisible();

  // Expired: saved only with a reason.
  await add(page, "Materials");
  await sheet.getByLabel("Search the shelf and the catalogue").fill("wipe");
  await sheet.getByLabel("Search the shelf and the catalogue").press("Enter");
  await expect(sheet.getByText("EXPIRED.")).toBeVisible();
  await sheet.getByLabel("How much").fill("20 mL");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet.getByText("Is missing, and this is expired")).toBeVisible();
  await sheet.getByLabel("Why it was used although expired").fill("Test wipe left no residue.");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();

  const [, shop, job] = page.url().match(/jobs\/([^/]+)\/([^/]+)/);
  await context.setOffline(false);
  await allSent(page);
  await page.goto(`${server.url}/record/${shop}/${job}`);
  await expect(page.locator(".record")).toContainText("Test wipe left no residue.");
});

test("the shelf is searched, filtered and looked through; an item goes out of use and comes back", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "lead");
  await allSent(page);
  await context.setOffline(true);
  await page.goto(`${server.url}/stock`);
  await ready(page);
  await expect(page.locator("main .line-link")).toHaveCount(13);
  await expect(item(page, "Wipe cleaner")).toContainText("EXPIRED on 2026-10-31");
  await expect(item(page, "Two-part seam sealant")).toContainText("running low");
  await page.getByRole("radio", { name: "hardware" }).check();
  await expect(page.locator("main .line-link")).toHaveCount(5);
  await page.getByRole("radio", { name: "all" }).check();
  await page.getByLabel("Search the shelf").fill("drawer 7");
  for (const place of [0, 1]) await expect(page.locator("main .line-link").nth(place)).toContainText("drawer 7");
  await accessible(page);
  await page.getByLabel("Search the shelf").fill("nothing like it");
  await expect(page.getByText("Nothing found")).toBeVisible();
  await page.getByRole("button", { name: "Show everything" }).click();

  await item(page, "Glass cloth").click();
  await page.waitForURL("**/stock/*/*");
  await expect(page.locator("main dl").first()).toContainText("Left4.64 m2");
  const sheet = page.locator("dialog[open]");
  // Another batch of the same thing.
  await page.getByRole("button", { name: "Receive more" }).click();
  await expect(sheet.getByLabel("Designation")).toHaveValue("Glass cloth, twill 280 g/m²");
  await expect(sheet.getByLabel("Batch or lot")).toHaveValue("");
  await sheet.getByLabel("Batch or lot").fill("GC-0500");
  await sheet.getByLabel("How much was received").fill("3");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();
  await page.getByRole("button", { name: "Take out of use" }).click();
  await expect(page.getByRole("button", { name: "Back into use" })).toBeVisible();
  await page.goto(`${server.url}/stock`);
  await ready(page);
  await expect(item(page, "Glass cloth")).toHaveCount(1);
  await expect(item(page, "Glass cloth")).toContainText("3 m2 left of 3 m2");
  await page.getByRole("radio", { name: "out of use" }).check();
  await expect(item(page, "Glass cloth")).toContainText("GC-0417");

  // The catalogue, with its sources.
  await page.getByRole("link", { name: "Look things up in the catalogue" }).click();
  await page.waitForURL("**/stock/catalogue");
  await page.getByLabel("Search the catalogue").fill("#30");
  await expect(page.locator("main .lines > li").first()).toContainText("0.1285 in");
  await page.getByLabel("Show", { exact: true }).selectOption({ label: "Rivet alloy" });
  await page.getByLabel("Search the catalogue").fill("2024");
  await expect(page.locator("main .lines > li").first()).toContainText("from memory");
  await accessible(page);
});

/** An item in the list of the shelf. */
function item(page, name) {
  return page.locator("main .line-link", { hasText: name });
}

/** A section of a step. */
function section(page, name) {
  return page.locator("section.section", { has: page.getByRole("heading", { name, exact: true }) });
}

async function add(page, name) {
  await section(page, name).getByRole("button", { name: "Add" }).click();
  await page.locator("dialog[open]").waitFor();
}
