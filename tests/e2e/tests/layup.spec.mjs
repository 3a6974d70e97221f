// A layup on a phone without a network: plies by taps, moved by button and by drag, mirrored,
// what they come to at once, the log at wet-out, its steps made once; then the server's word.

import { ready } from "../support/app.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { photoFiles } from "../support/photos.mjs";
import { expect, test } from "../support/server.mjs";
import { openJob } from "../support/work.mjs";

const JOB = {
  title: "Four plies",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Delaminated along the flange.",
  template: "Replacement of working rivets",
};

test("plies are tapped, moved, logged and turned into steps offline, and reach the server", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  const { files, remove } = await photoFiles(1);
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);
  const sheet = page.locator("dialog[open]");

  await page.getByRole("button", { name: "Add a layup" }).click();
  await sheet.getByLabel("Name of the layup").fill("Flange, as built");
  await sheet.getByRole("button", { name: "Save" }).click();
  await page.locator("main a[href*='/layups/']", { hasText: "Flange, as built" }).click();
  await page.waitForURL("**/layups/*");
  await expect(page.locator("main h1")).toHaveText("Flange, as built");

  const material = page.getByLabel("Material", { exact: true });
  await material.selectOption({ label: "E-glass style 7781, dry (typical values)" });
  const angle = (name) => page.getByRole("button", { name, exact: true });
  await angle("0°").click();
  await angle("45°").click();
  await expect(angles(page)).toHaveText(["45°", "0°"]);
  await expect(page.getByText("not symmetric: it will warp")).toBeVisible();
  await expect(page.getByText("mm, typical values")).toBeVisible();

  // Mirrored it is symmetric; a cloth with as much weft as warp is balanced at 45 degrees too.
  await page.getByRole("button", { name: /^Mirror/ }).click();
  await expect(angles(page)).toHaveText(["0°", "45°", "45°", "0°"]);
  await expect(page.getByText("symmetric", { exact: true })).toBeVisible();
  await expect(page.getByText("balanced", { exact: true })).toBeVisible();

  // The top ply goes down by the button, and up again by its grip.
  await choose(page, 0);
  await listed(page).nth(0).getByRole("button", { name: "Down" }).click();
  await expect(angles(page)).toHaveText(["45°", "0°", "45°", "0°"]);
  await drag(page, listed(page).nth(1), listed(page).nth(0));
  await expect(angles(page)).toHaveText(["0°", "45°", "45°", "0°"]);
  await choose(page, 0);
  await listed(page).nth(0).getByRole("button", { name: "Take out" }).click();
  await expect(angles(page)).toHaveText(["45°", "45°", "0°"]);
  await page.locator(".toast", { hasText: "Ply taken out" }).getByRole("button", { name: "Undo" }).click();
  await expect(angles(page)).toHaveText(["0°", "45°", "45°", "0°"]);

  // The log: the lowest ply first.
  await page.getByRole("button", { name: "Ply 1 is laid" }).click();
  await page.getByRole("button", { name: "Ply 2 is laid" }).click();
  await expect(page.getByRole("heading", { name: "Log at wet-out, 2 of 4 laid" })).toBeVisible();
  await page.getByLabel("Photo of ply 1").setInputFiles(files);
  await expect(page.locator(".photo")).toHaveCount(1);
  // Ply 1 after all not: then ply 2 lies above one that is not there.
  await page.getByRole("button", { name: "Not laid after all" }).first().click();
  await expect(page.getByText("laid ahead of a ply that goes in before it")).toBeVisible();
  await page.getByRole("button", { name: "Ply 1 is laid" }).click();

  // Its steps: once, and a question before a second set.
  const make = page.getByRole("button", { name: "Make steps from this layup" });
  await make.click();
  await expect(page.getByText("Steps made from this layup")).toBeVisible();
  await make.click();
  await expect(sheet.getByRole("heading")).toHaveText("Make the steps again?");
  await sheet.getByRole("button", { name: "Leave it" }).click();

  await page.getByRole("button", { name: "Work out for the record" }).click();
  await expect(page.getByText("Asked for: it is worked out at the next connection.")).toBeVisible();

  await page.reload();
  await ready(page);
  await expect(angles(page)).toHaveText(["0°", "45°", "45°", "0°"]);
  await context.setOffline(false);
  await allSent(page);
  await expect(page.getByText("The server's result: the one of record.")).toBeVisible();

  await page.goBack();
  await expect(page.getByText("Scarf: Flange, as built")).toHaveCount(1);
  const [, shop, job] = page.url().match(/jobs\/([^/]+)\/([^/]+)/);
  await page.goto(`${server.url}/record/${shop}/${job}`);
  await expect(page.locator(".record h3", { hasText: "Flange, as built" }).last()).toBeVisible();
  await expect(page.locator(".record figure", { hasText: "Ply 1" })).toHaveCount(1);
  await expect(page.getByText("Not laid, or not ticked: 2 of 4.")).toBeVisible();
  await remove();
});

/** The plies as they are listed, the highest first. */
function listed(page) {
  return page.locator(".arrange > li");
}

/** Their angles, as they are listed. */
function angles(page) {
  return listed(page).locator(".ply-angle");
}

/** Taps a ply, so that what can be done to it is there. */
async function choose(page, at) {
  const ply = listed(page).nth(at).locator(".choose");
  if ((await ply.getAttribute("aria-expanded")) === "false") await ply.click();
}

/** By its grip onto another. */
async function drag(page, from, to) {
  await from.evaluate((it) => it.scrollIntoView({ block: "center" }));
  const grip = await from.locator(".grip").boundingBox();
  const goal = await to.boundingBox();
  await page.mouse.move(grip.x + grip.width / 2, grip.y + 12);
  await page.mouse.down();
  await page.mouse.move(goal.x + goal.width / 2, goal.y + goal.height - 12, { steps: 5 });
  await page.mouse.up();
}
