// The hole register on a phone without a network: a joint, a row of holes, what
// was found and what is done in two taps each, a run in one go; its drawing under
// two fingers, photos of a hole, holes as in another joint.

import { ready } from "../support/app.mjs";
import { pinch } from "../support/fingers.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { photoFiles } from "../support/photos.mjs";
import { expect, test } from "../support/server.mjs";
import { openJob } from "../support/work.mjs";

const JOB = {
  title: "Row of six",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Two rivets on the left side smear.",
  template: "Replacement of working rivets",
};

test("a joint's holes are said offline, in two taps each, and reach the server", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);

  await page.getByRole("button", { name: "Add a joint" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Name of the joint").fill("Left side");
  await sheet.getByLabel("Diameter as found").fill("1/8 in");
  await sheet.getByLabel("Diameter chosen").fill("1/8 in");
  await sheet.getByRole("button", { name: "Save" }).click();
  await page.locator("main a[href*='/joints/']", { hasText: "Left side" }).click();
  await page.waitForURL("**/joints/*");
  await expect(page.locator("main h1")).toHaveText("Left side");

  await page.getByRole("button", { name: "Layers and edges" }).click();
  await sheet.getByLabel("Layers").fill("2024-T3, 0.032 in");
  await sheet.getByLabel("Edges").fill("0 in, 0 in\n10 in");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet.getByText("Line 2: write it as x, y")).toBeVisible();
  await sheet.getByLabel("Edges").fill("0 in, 0 in\n10 in, 0 in");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();

  await row(page, { count: "6", y: "0.3 in", pitch: "0.75 in" });
  const holes = page.locator(".hole-line");
  await expect(holes).toHaveCount(6);
  await expect(page.getByText("6 spacing within")).toBeVisible();

  // Hole 1 in two taps; hole 2 comes by itself and goes up a size, too near to the edge then.
  await page.getByRole("button", { name: /^Go on: hole 1/ }).click();
  await say(sheet, "working", "same size");
  await expect(sheet.getByRole("heading")).toHaveText("Hole 2");
  await sheet.getByLabel("Largest across").fill("0.150 in");
  await say(sheet, "elongated", "up a size");
  await expect(sheet.getByRole("heading")).toHaveText("Hole 3");
  // The rest is good: one go.
  await sheet.getByRole("button", { name: "All 4 from here: tight, keep" }).click();
  await expect(sheet).toBeHidden();
  await expect(holes.nth(1)).toContainText("edge distance below the minimum");
  await expect(holes.nth(5)).toContainText("tight");
  await expect(holes.nth(5)).toContainText("keep");

  // A tap on the drawing, on the second hole of six, opens it for its result.
  await tapHole(page, 1);
  await expect(sheet.getByRole("heading")).toHaveText("Hole 2");
  await sheet.getByLabel("Driven head, diameter").fill("0.234 in");
  await sheet.getByLabel("Driven head, height").fill("0.078 in");
  await expect(sheet.getByText("Driven head, worked out on this device")).toBeVisible();
  await sheet.getByRole("button", { name: "Fail" }).click();
  // The next open result is hole 1.
  await expect(sheet.getByRole("heading")).toHaveText("Hole 1");
  await sheet.getByRole("button", { name: "Close", exact: true }).click();
  await page.getByRole("button", { name: "Work out for the record" }).click();
  const asked = page.getByText("Asked for: it is worked out at the next connection.");
  await expect(asked).toBeVisible();

  await page.reload();
  await ready(page);
  await expect(holes).toHaveCount(6);
  await expect(holes.nth(0)).toContainText("same size");
  await expect(holes.nth(1)).toContainText("0.150 in across");
  await expect(holes.nth(1)).toContainText("fail");
  await expect(asked).toBeVisible();
  await expect(page.locator(".sync-line")).toContainText(/offline/i);

  await context.setOffline(false);
  await allSent(page);
  await expect(page.getByText("The server's result: the one of record.")).toBeVisible();
  // The driven head was asked about along with its result.
  await tapHole(page, 1);
  await sheet.getByRole("link", { name: "The head's worksheet with its working" }).click();
  await page.waitForURL("**/worksheets/*");
  await expect(page.locator("main h1")).toHaveText("Driven head of hole 2");
  await expect(page.getByText("The server's result: the one of record.")).toBeVisible();
  await page.goBack();

  const [, shop, job] = page.url().match(/jobs\/([^/]+)\/([^/]+)/);
  await page.goto(`${server.url}/record/${shop}/${job}`);
  await expect(page.locator(".record h3", { hasText: "Left side" })).toBeVisible();
  await expect(page.locator(".record tr", { hasText: "0.150 in across" })).toContainText("up a size");
});

test("the drawing follows two fingers, a hole has its photos, and a second joint takes the holes over", async ({ page, freshServer, context, hasTouch }) => {
  const server = await freshServer({ demo: true });
  const { files, remove } = await photoFiles(1);
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);
  const sheet = page.locator("dialog[open]");
  await addJoint(page, "Left side");
  await row(page, { count: "6", y: "0.3 in", pitch: "0.75 in" });

  // Larger under two fingers, moved with one, the whole again by the button.
  const [one, two] = [await markAt(page, 0), await markAt(page, 1)];
  const apart = two.x - one.x;
  if (hasTouch) {
    await pinch(page, page.locator(".board svg"), 2);
  } else {
    await page.locator(".board").focus();
    await page.keyboard.press("+");
    await page.keyboard.press("+");
  }
  const larger = (await markAt(page, 1)).x - (await markAt(page, 0)).x;
  expect(larger).toBeGreaterThan(1.7 * apart);
  const before = await markAt(page, 0);
  await drag(page, 40, 0);
  expect((await markAt(page, 0)).x).toBeGreaterThan(before.x + 30);
  await expect(sheet).toBeHidden();
  await page.getByRole("button", { name: "Whole" }).click();
  expect((await markAt(page, 0)).x).toBeCloseTo(one.x, 0);

  // A photo that is taken in a hole's sheet is the hole's.
  await tapHole(page, 2);
  await expect(sheet.getByRole("heading").first()).toHaveText("Hole 3");
  await sheet.getByText("Photos, 0").click();
  await sheet.locator("input[type=file]").first().setInputFiles(files);
  await expect(sheet.getByText("Photos, 1")).toBeVisible();
  await sheet.getByRole("button", { name: "Close", exact: true }).click();
  await expect(page.locator(".hole-line").nth(2)).toContainText("1 photo");
  // The same photo shows another hole too; and is taken off again.
  await tapHole(page, 3);
  await sheet.getByText("Photos, 0").click();
  await sheet.getByRole("button", { name: "Pick among the job's photos" }).click();
  await sheet.getByRole("button", { name: "Photo: attach" }).click();
  await expect(sheet.getByText("Photos, 1")).toBeVisible();
  await sheet.getByRole("button", { name: "Photo: take off" }).click();
  await expect(sheet.getByText("Photos, 0")).toBeVisible();
  await sheet.getByRole("button", { name: "Close", exact: true }).click();

  // The other side is a copy.
  await page.goBack();
  await addJoint(page, "Right side");
  await page.getByRole("button", { name: "Add holes" }).click();
  await sheet.getByRole("radio", { name: "From a joint" }).check();
  await sheet.getByRole("button", { name: /^Copy/ }).click();
  await expect(page.locator(".hole-line")).toHaveCount(6);
  await sheet.getByRole("button", { name: "Close", exact: true }).click();
  await expect(page.locator(".hole-line").nth(2)).toContainText("not looked at");

  await context.setOffline(false);
  await allSent(page);
  const [, shop, job] = page.url().match(/jobs\/([^/]+)\/([^/]+)/);
  await page.goto(`${server.url}/record/${shop}/${job}`);
  await expect(page.locator(".record-photos figure", { hasText: "Hole 3" })).toHaveCount(1);
  await expect(page.locator(".record h3", { hasText: "Right side" })).toBeVisible();
  await remove();
});

async function addJoint(page, name) {
  await page.getByRole("button", { name: "Add a joint" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Name of the joint").fill(name);
  await sheet.getByLabel("Diameter chosen").fill("1/8 in");
  await sheet.getByRole("button", { name: "Save" }).click();
  await page.locator("main a[href*='/joints/']", { hasText: name }).click();
  await page.waitForURL("**/joints/*");
  await expect(page.locator("main h1")).toHaveText(name);
}

/** Where a hole's mark is drawn. */
async function markAt(page, at) {
  const box = await page.locator(".board .pattern-bore").nth(at).boundingBox();
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

/** One finger, or the mouse, across the drawing. */
async function drag(page, dx, dy) {
  const board = await page.locator(".board svg").boundingBox();
  const from = { x: board.x + board.width / 2, y: board.y + board.height * 0.8 };
  await page.mouse.move(from.x, from.y);
  await page.mouse.down();
  await page.mouse.move(from.x + dx / 2, from.y + dy / 2);
  await page.mouse.move(from.x + dx, from.y + dy);
  await page.mouse.up();
}

async function row(page, { count, y, pitch }) {
  await page.getByRole("button", { name: "Add holes" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("How many").fill(count);
  await sheet.getByLabel("First hole, y").fill(y);
  await sheet.getByLabel("Pitch").fill(pitch);
  await sheet.getByRole("button", { name: "Add the row" }).click();
  await expect(page.locator(".hole-line")).toHaveCount(Number(count));
  await sheet.getByRole("button", { name: "Close", exact: true }).click();
}

async function say(sheet, found, action) {
  await sheet.getByRole("button", { name: found, exact: true }).click();
  await sheet.getByRole("button", { name: action, exact: true }).click();
}

/** Taps where a hole's mark is drawn. */
async function tapHole(page, at) {
  await page.locator(".board").evaluate((board) => board.scrollIntoView({ block: "center" }));
  const mark = await page.locator(".board .pattern-bore").nth(at).boundingBox();
  await page.touchscreen
    .tap(mark.x + mark.width / 2, mark.y + mark.height / 2)
    .catch(() => page.mouse.click(mark.x + mark.width / 2, mark.y + mark.height / 2));
}
