// Measuring on a photo without a network: a card's corners, holes that snap, an
// edge; places within their stated uncertainty of the truth, and the verdict.

import { ready } from "../support/app.mjs";
import { accessible } from "../support/axe.mjs";
import { mark, nearer, opened, step, tap } from "../support/measure.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { HOLES, slanted, squareOn } from "../support/plate.mjs";
import { expect, test } from "../support/server.mjs";
import { openJob } from "../support/work.mjs";

const JOB = {
  title: "Measured on a photo",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "A row of holes near the edge.",
  template: "Replacement of working rivets",
};

test("holes measured on a photo offline lie where they are, and reach the server", async ({ page, freshServer, context }) => {
  test.setTimeout(180_000);
  const server = await freshServer({ demo: true });
  const plate = { name: "plate.jpg", mimeType: "image/jpeg", buffer: await slanted.photo(page) };
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);
  await openJoint(page, "Left side");

  // The photo is taken from the joint, and the job keeps it.
  await take(page, plate);
  await opened(page);

  await expect(page.getByText("4 corners to mark.")).toBeVisible();
  for (const corner of slanted.corners) await mark(page, corner);
  await expect(page.getByText("A mark is taken to be off by 1.5 px")).toBeVisible();
  await expect(page.getByText("The two sides look exchanged")).toBeHidden();

  await step(page, "Holes");
  await page.getByRole("button", { name: "Find holes" }).click();
  await expect(page.getByText(/proposals?, dashed on the photo/)).toBeVisible();
  for (const hole of slanted.holes) await tap(page, { x: hole.x + 12, y: hole.y - 8 });
  const marks = page.getByRole("list", { name: "Marks" }).getByRole("listitem");
  await expect(marks).toHaveCount(5);
  await expect(page.getByText("· snapped")).toHaveCount(5);
  await undoAndDelete(page, marks);
  await accessible(page);

  // The app is killed midway: the marks are there again.
  await page.waitForTimeout(400);
  await page.reload();
  await ready(page);
  await opened(page);
  await expect(page.getByRole("radio", { name: "Holes", exact: true })).toBeChecked();
  await expect(marks).toHaveCount(5);

  await step(page, "Edge");
  for (const point of slanted.edge) await mark(page, point);
  await step(page, "Axes");
  await expect(page.getByLabel("Where they begin")).toHaveValue("beside-first");
  await step(page, "Result");
  await page.getByRole("radio", { name: "Metric" }).check();
  await expect(page.locator(".measured")).toContainText("edge distance too close to call: measure it");
  const rows = await measured(page);
  expect(rows.map((row) => row.number)).toEqual(["1", "2", "3", "4", "5"]);
  for (const [at, row] of rows.entries()) {
    const [x, y, edge] = row.measured;
    within(x, HOLES[at][0] - HOLES[0][0], `x of hole ${row.number}`);
    within(y, HOLES[at][1], `y of hole ${row.number}`);
    within(edge, HOLES[at][1], `edge distance of hole ${row.number}`);
    expect(edge.doubt).toBeLessThan(0.6);
  }
  await accessible(page);
  await page.emulateMedia({ colorScheme: "dark" });
  await accessible(page);
  await page.emulateMedia({ colorScheme: "light" });

  await page.getByRole("button", { name: "Save 5 holes" }).click();
  await page.waitForURL("**/joints/*");
  const listed = page.locator(".hole-line");
  await expect(listed).toHaveCount(5);
  await expect(listed.nth(2)).toContainText("edge distance too close to call: measure it");
  await expect(listed.nth(0)).toContainText("1 photo");
  await page.getByRole("button", { name: "Work out for the record" }).click();
  await expect(page.locator(".sync-line")).toContainText(/offline/i);

  await context.setOffline(false);
  await allSent(page);
  await expect(page.getByText("The server's result: the one of record.")).toBeVisible();
  const [, shop, job] = page.url().match(/jobs\/([^/]+)\/([^/]+)/);
  await page.goto(`${server.url}/record/${shop}/${job}`);
  await expect(page.locator(".record h3", { hasText: "Left side" })).toBeVisible();
  const recorded = page.locator(".record table.holes tbody tr");
  await expect(recorded).toHaveCount(5);
  await expect(recorded.nth(2)).toContainText("edge distance too close to call: measure it");
});

test("a length measures on a photo taken square-on, from close by, and mirrored", async ({ page, freshServer, hasTouch }) => {
  test.setTimeout(180_000);
  const server = await freshServer({ demo: true });
  const plate = { name: "plate.jpg", mimeType: "image/jpeg", buffer: await squareOn.photo(page) };
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await openJob(page, JOB);
  await openJoint(page, "Square-on");
  await take(page, plate);
  await opened(page);

  await page.getByRole("radio", { name: "One length" }).check();
  await expect(page.getByText("One length holds only on a photo taken square-on")).toBeVisible();
  await page.getByLabel("Its length").fill("85.6 mm");
  await expect(page.getByText("2 ends to mark.")).toBeVisible();
  const [left, right] = squareOn.corners;
  await nearer(page, left, hasTouch);
  await nearer(page, right, hasTouch);
  await expect(page.getByText("A mark is taken to be off by")).toBeVisible();

  await step(page, "Holes");
  // The first four: mirrored, they are another row.
  for (const hole of squareOn.holes.slice(0, 4)) await tap(page, hole);
  await step(page, "Edge");
  for (const point of squareOn.edge) await mark(page, point);
  await step(page, "Axes");
  await page.getByLabel("Mirror x").check();
  await step(page, "Result");
  await page.getByRole("radio", { name: "Metric" }).check();
  await expect(page.locator(".measured tbody tr")).toHaveCount(4);
  const rows = await measured(page);
  for (const [at, row] of rows.entries()) {
    const [x, y, edge] = row.measured;
    const truth = HOLES[3 - at];
    within(x, HOLES[3][0] - truth[0], `x of hole ${row.number}, mirrored`);
    within(y, truth[1], `y of hole ${row.number}`);
    within(edge, truth[1], `edge distance of hole ${row.number}`);
  }
});

test("corners marked twice say how well one marks, and sides given the wrong way round are exchanged", async ({ page, freshServer }) => {
  test.setTimeout(180_000);
  const server = await freshServer({ demo: true });
  const plate = { name: "plate.jpg", mimeType: "image/jpeg", buffer: await slanted.photo(page) };
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await openJob(page, JOB);
  await openJoint(page, "Marked twice");
  await take(page, plate);
  await opened(page);

  await page.getByLabel("Corner 1 to corner 2").fill("53.98 mm");
  await page.getByLabel("Corner 2 to corner 3").fill("85.60 mm");
  for (const corner of slanted.corners) await mark(page, corner);
  // A longer lens would see the other card like that: only the person can tell.
  await expect(page.getByText("the same either way round")).toBeVisible();
  await page.getByRole("button", { name: "Exchange the sides" }).click();
  await expect(page.getByLabel("Corner 1 to corner 2")).toHaveValue("85.60 mm");
  await expect(page.getByLabel("Corner 2 to corner 3")).toHaveValue("53.98 mm");

  await page.getByLabel("Mark the corners once more").check();
  const off = [[2, 0], [0, 2], [-2, 0], [0, -2]];
  for (const [at, corner] of slanted.corners.entries()) {
    await mark(page, { x: corner.x + off[at][0], y: corner.y + off[at][1] });
  }
  await expect(page.getByRole("list", { name: "Marks" }).getByRole("listitem")).toHaveCount(8);
  // Two marks that are 2 px apart, four times: the spread that the app says comes from them.
  await expect(page.getByText("A mark is taken to be off by 1.5 px")).toBeHidden();
  await expect(page.getByText(/The two markings say that a mark is off by/)).toBeVisible();
});

test("what can't be measured is said beside it, and everything goes by keys", async ({ page, freshServer }) => {
  test.setTimeout(120_000);
  const server = await freshServer({ demo: true });
  const plate = { name: "plate.jpg", mimeType: "image/jpeg", buffer: await slanted.photo(page) };
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await openJob(page, JOB);
  await openJoint(page, "By keys");
  await take(page, plate);
  await opened(page);

  await page.getByLabel("Corner 1 to corner 2").fill("wide");
  const pane = page.locator(".board--photo");
  await pane.focus();
  // Four marks in the middle, then moved apart: three of them in a line.
  for (const [right, down] of [[0, 0], [4, 0], [8, 0], [4, 4]]) {
    await page.keyboard.press("Escape");
    await page.keyboard.press("Enter");
    for (let by = 0; by < right; by++) await page.keyboard.press("Shift+ArrowRight");
    for (let by = 0; by < down; by++) await page.keyboard.press("Shift+ArrowDown");
  }
  const marks = page.getByRole("list", { name: "Marks" }).getByRole("listitem");
  await expect(marks).toHaveCount(4);
  await expect(page.getByLabel("Corner 1 to corner 2")).toHaveAttribute("aria-invalid", "true");
  await page.getByRole("button", { name: "Card (ISO/IEC 7810 ID-1)" }).click();
  await expect(page.getByRole("alert").filter({ hasText: /in a line with two others/ })).toBeVisible();

  await marks.nth(3).getByRole("button", { name: /^Corner 4/ }).click();
  await pane.focus();
  await page.keyboard.press("Delete");
  await expect(marks).toHaveCount(3);
  await page.locator("main").getByRole("button", { name: "Undo" }).click();
  await expect(marks).toHaveCount(4);

  const address = page.url();
  await page.goto(`${address.slice(0, address.lastIndexOf("/"))}/01920000-0000-7000-8000-000000000000`);
  await ready(page);
  await expect(page.getByText("This job has no such joint or photo")).toBeVisible();
});

test("a photo that can't be measured on says why", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await openJob(page, JOB);
  await openJoint(page, "Elsewhere");
  const head = Buffer.from("\0\0\0\x18ftypheic\0\0\0\0heicmif1", "latin1");
  await take(page, { name: "shot.heic", mimeType: "image/heic", buffer: Buffer.concat([head, Buffer.alloc(4000, 7)]) });
  await expect(page.getByText("This browser can't decode photos of this kind")).toBeVisible({ timeout: 30_000 });
  await expect(page.getByRole("link", { name: "Back to the joint" })).toBeVisible();
  await accessible(page);

  // A photo that others took, and that this device has not fetched.
  await page.goto(`${server.url}/jobs`);
  await ready(page);
  await page.locator("main a[href*='/jobs/']", { hasText: "Re-glass the torn attach flange" }).first().click();
  await page.locator("main a[href*='/joints/']").first().click();
  await page.getByRole("button", { name: "Add holes" }).click();
  await page.locator("dialog[open]").getByRole("radio", { name: "On a photo" }).check();
  await expect(page.locator("dialog[open] .photo img").first()).toBeVisible();
  await context.setOffline(true);
  await page.locator("dialog[open] .photo button").first().click();
  await expect(page.getByText("This photo is not on this device yet")).toBeVisible();
  await context.setOffline(false);
  await page.getByRole("button", { name: "Try again" }).click();
  await opened(page);
});

/** Takes a photo from a joint's page, and chooses it. */
async function take(page, photo) {
  await page.getByRole("button", { name: "Add holes" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByRole("radio", { name: "On a photo" }).check();
  await sheet.locator("input[type=file]").setInputFiles(photo);
  await expect(sheet.locator(".photo:not([data-saving]) button")).toHaveCount(1, { timeout: 30_000 });
  await sheet.locator(".photo button").first().click();
  await page.waitForURL("**/measure/*");
}

async function openJoint(page, name) {
  await page.getByRole("button", { name: "Add a joint" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Name of the joint").fill(name);
  await sheet.getByLabel("Diameter as found").fill("1/8 in");
  await sheet.getByLabel("Diameter chosen").fill("1/8 in");
  await sheet.getByRole("button", { name: "Save" }).click();
  await page.locator("main a[href*='/joints/']", { hasText: name }).click();
  await page.waitForURL("**/joints/*");
  await expect(page.locator("main h1")).toHaveText(name);
}

async function undoAndDelete(page, marks) {
  await marks.nth(4).getByRole("button", { name: /^Take Hole 5 away/ }).click();
  await expect(marks).toHaveCount(4);
  await page.locator("main").getByRole("button", { name: "Undo" }).click();
  await expect(marks).toHaveCount(5);
}

/** What the table says, row by row: x, y and the distance to the edge, in millimetres. */
async function measured(page) {
  const rows = await page.locator(".measured tbody tr").all();
  return Promise.all(
    rows.map(async (row) => {
      const [number, x, y, , edge] = await row.locator("th, td").allTextContents();
      return { number, measured: [x, y, edge].map(read) };
    }),
  );
}

function read(text) {
  const [, value, doubt] = text.match(/^(-?[\d.]+) ± ([\d.]+) mm$/);
  return { value: Number(value), doubt: Number(doubt) };
}

function within({ value, doubt }, truth, what) {
  expect(Math.abs(value - truth), `${what}: ${value} ± ${doubt}, in truth ${truth}`).toBeLessThanOrEqual(doubt);
}
