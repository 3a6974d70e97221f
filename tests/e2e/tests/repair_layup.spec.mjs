// A repair layup on a phone without a network: held against its parent, built as proposed and taken
// back in one tap; its damage entered, and a taper that is too steep refused beside its field.

import { ready } from "../support/app.mjs";
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
const CLOTH = "E-glass style 7781, dry (typical values)";

test("a repair is compared and built as proposed offline, and its damage entered", async ({ page, freshServer, context }) => {
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

  // Proposals: like for like comes first. Built in one command, taken back in one tap.
  await page.getByRole("button", { name: "Propose plies" }).click();
  await expect(page.getByText("The shelf holds no cloth to reckon with.")).toBeVisible();
  const build = page.getByRole("button", { name: "Build this" });
  await expect(build).toHaveCount(3);
  await expect(page.getByText("1. 4 plies: 0° / 45° / 45° / 0°")).toBeVisible();
  await build.first().click();
  await expect(angles(page)).toHaveText(["0°", "45°", "45°", "0°"]);
  await expect(page.getByText("The repair is as stiff as its parent within both limits.")).toBeVisible();
  await page.locator(".toast", { hasText: "Plies replaced by the proposal" }).getByRole("button", { name: "Undo" }).click();
  await expect(angles(page)).toHaveText(["0°", "45°", "0°"]);
  await build.first().click();
  await expect(page.getByText(/Plies as proposed out of the catalogue, rank 1/)).toBeVisible();

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
  await expect(page.getByText("round, 50 mm")).toBeVisible();
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
