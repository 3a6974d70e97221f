// A repair layup on a phone without a network: held against its parent, built as proposed and taken
// back in one tap, sized for a damage with its cut list and templates, its steps made; then the
// server's word, and the record.

import { readFile } from "node:fs/promises";
import { ready } from "../support/app.mjs";
import { accessible } from "../support/axe.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";
import { openJob } from "../support/work.mjs";

const JOB = {
  title: "A torn flange",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Torn through along the flange.",
  template: "Replacement of working rivets",
};
// The shop's own, which the catalogue doesn't list: reckoned by the weight in its name.
const CLOTH = "Glass cloth, twill 280 g/m², batch GC-0417 (on the shelf)";

test("a repair is compared, proposed, sized and cut offline, and the server answers all of it", async ({ page, freshServer, context }) => {
  test.setTimeout(120_000);
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);
  const job = page.url();

  await addLayup(page, "Flange, as built", "the part as built");
  await lay(page, ["0°", "45°", "45°", "0°"]);
  await page.goto(job);
  await ready(page);
  await addLayup(page, "Flange, repair", "its repair");
  await lay(page, ["0°", "45°", "0°"]);
  await page.getByLabel("Stands in for").selectOption({ label: "Flange, as built" });
  await expect(page.locator("main strong", { hasText: "The repair is softer" })).toBeVisible();
  const held = page.getByRole("list", { name: "Stiffness of the repair over its parent's" });
  await expect(held.getByRole("listitem")).toHaveCount(5);
  await expect(held.getByText("softer").first()).toBeVisible();

  // Proposals out of the shelf: like for like comes first. Built in one command, taken back in one tap.
  await page.getByRole("button", { name: "Propose plies" }).click();
  const build = page.getByRole("button", { name: "Build this" });
  await expect(build).toHaveCount(3);
  await expect(page.getByText("1. 4 plies: 0° / 45° / 45° / 0°")).toBeVisible();
  await expect(page.getByText(/4 plies of Glass cloth, twill 280 g\/m²/).first()).toBeVisible();
  await expect(page.getByText("The shelf holds no cloth to reckon with.")).toHaveCount(0);
  await build.first().click();
  await expect(angles(page)).toHaveText(["0°", "45°", "45°", "0°"]);
  await expect(page.getByText("The repair is as stiff as its parent within both limits.")).toBeVisible();
  await page.locator(".toast", { hasText: "Plies replaced by the proposal" }).getByRole("button", { name: "Undo" }).click();
  await expect(angles(page)).toHaveText(["0°", "45°", "0°"]);
  await build.first().click();
  await expect(page.getByText(/Plies as proposed out of the shelf, rank 1/)).toBeVisible();

  // The damage: a taper that is too steep is refused beside its field.
  await page.getByRole("button", { name: "Enter the damage" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Diameter").fill("50 mm");
  await sheet.getByLabel("Step per ply").fill("5 mm");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet.getByText(/steeper than the rule/)).toBeVisible();
  await expect(sheet.getByLabel("Step per ply")).toBeFocused();
  await sheet.getByLabel("Step per ply").fill("20 mm");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();
  const pieces = page.getByRole("group", { name: "Pieces to cut" }).locator("tbody tr");
  await expect(pieces).toHaveCount(4);
  await expect(pieces.first()).toContainText("P1");
  await expect(pieces.first()).toContainText("⌀ 90 mm");
  await expect(page.locator(".next-ply")).toContainText("Piece P1");

  // Templates at full size, drawn on this device.
  for (const [form, begins] of [["SVG", "<svg"], ["DXF", "0\r\nSECTION"]]) {
    const [file] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: form, exact: true }).click()]);
    expect(file.suggestedFilename()).toBe(`ply-templates.${form.toLowerCase()}`);
    expect((await readFile(await file.path(), "utf8")).startsWith(begins)).toBe(true);
  }

  // The steps: the scarf is held to the patch, and the wet-out knows its log.
  await page.getByRole("button", { name: "Make steps from this layup" }).click();
  await page.getByRole("button", { name: "Ply 1 is laid" }).click();
  await expect(page.getByText("Ply 1, 0°, piece P1")).toBeVisible();
  await expect(build.first()).toBeDisabled();
  const layup = page.url();
  await page.getByRole("link", { name: /^To the step: Wet out/ }).click();
  await page.waitForURL("**/steps/*");
  await page.getByRole("link", { name: /Log of Flange, repair/ }).click();
  await page.waitForURL("**/layups/**");

  await accessible(page);
  await page.getByRole("link", { name: "Cut list to print" }).click();
  await expect(page.getByRole("heading", { name: "Cut list: Flange, repair" })).toBeVisible();
  await expect(pieces).toHaveCount(4);
  await page.goto(layup);
  await ready(page);

  const asks = page.getByRole("button", { name: "Work out for the record" });
  await expect(asks).toHaveCount(3);
  for (const left of [2, 1, 0]) {
    await asks.first().click();
    await expect(asks).toHaveCount(left);
  }
  await context.setOffline(false);
  await allSent(page);
  await expect(page.getByText("The server's result: the one of record.")).toHaveCount(3);
  const [pdf] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "PDF to print" }).click()]);
  expect((await readFile(await pdf.path())).subarray(0, 5).toString()).toBe("%PDF-");

  const [, shop, id] = page.url().match(/jobs\/([^/]+)\/([^/]+)/);
  await page.goto(`${server.url}/record/${shop}/${id}`);
  const record = page.locator(".record");
  await expect(record.getByText("Damage and patch")).toBeVisible();
  await expect(record.getByText(/\(layup-compare\)/)).toBeVisible();
  await expect(record.getByText(/\(patch\)/)).toBeVisible();
  const laid = record.getByRole("group", { name: "Plies in the order in which they went in" }).locator("tbody tr");
  await expect(laid).toHaveCount(1);
  await expect(laid).toContainText("P1");
  await expect(record.getByText("the patch's cut list", { exact: false }).first()).toBeVisible();
});

/** A new layup, from the job's page to its own. */
async function addLayup(page, name, purpose) {
  await page.getByRole("button", { name: "Add a layup" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Name of the layup").fill(name);
  await sheet.getByLabel("What it is of").selectOption({ label: purpose });
  await sheet.getByRole("button", { name: "Save" }).click();
  await page.locator("main a[href*='/layups/']", { hasText: name }).click();
  await page.waitForURL("**/layups/*");
  await expect(page.locator("main h1")).toHaveText(name);
}

/** Plies by taps, the lowest first. */
async function lay(page, taps) {
  await page.getByLabel("Material", { exact: true }).selectOption({ label: CLOTH });
  for (const angle of taps) await page.getByRole("button", { name: angle, exact: true }).click();
  await expect(angles(page)).toHaveText([...taps].reverse());
}

/** The angles of the plies as they are listed, the highest first. */
function angles(page) {
  return page.locator(".arrange > li .ply-angle");
}
