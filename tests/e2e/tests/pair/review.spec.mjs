// The inspection loop: findings with a place, answers that prove it, what changed since, comments,
// and a lead who lets work go on over a hold point. The mechanic has no network for part of it.

import { ready } from "../../support/app.mjs";
import { accessible } from "../../support/axe.mjs";
import { desk, phone } from "../../support/browser.mjs";
import { allSent, PASSWORD, signIn } from "../../support/people.mjs";
import { photoFiles } from "../../support/photos.mjs";
import { expect, test } from "../../support/server.mjs";
import { addLine, inspect, offer, openFirstStep, openJob, WORKING_RIVETS as JOB, photograph } from "../../support/work.mjs";

const FIRST = "Make safe and gain access to both sides";
/** A step of the demo that waits, with a hole register beside it. */
const WAITING = "Deburr and clean the holes";

test.describe.configure({ timeout: 240_000 });

test("findings have a place, answers have proof, and the inspector sees what changed", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const [hangar, office] = [await browser.newContext(phone), await browser.newContext(desk)];
  const [mechanic, inspector] = [await hangar.newPage(), await office.newPage()];
  const photos = await photoFiles(3);
  try {
    await signIn(mechanic, server.url, "mechanic");
    await openJob(mechanic, JOB);
    await openFirstStep(mechanic);
    await mechanic.getByRole("button", { name: "Start", exact: true }).click();
    await moment(mechanic, "before");
    await photograph(mechanic, photos.files.slice(0, 1));
    await moment(mechanic, "after");
    await photograph(mechanic, photos.files.slice(1, 2));
    await addLine(mechanic, "Readings", reading("Hole 4, along", "0.130"));
    await offer(mechanic, "Both sides looked at.");
    await allSent(mechanic);

    // Both photos under one border, moved and enlarged together.
    await signIn(inspector, server.url, "inspector");
    await allSent(inspector);
    await inspect(inspector, server.url, FIRST);
    const drawing = inspector.locator(".compare > svg");
    await expect(drawing).toHaveAttribute("viewBox", "0 0 400 300");
    await inspector.getByRole("button", { name: "Larger" }).click();
    await expect(drawing).toHaveAttribute("viewBox", /^75 56\.25 250 187\.5/);
    await drawing.focus();
    await inspector.keyboard.press("ArrowRight");
    await expect(drawing).toHaveAttribute("viewBox", /^100 56\.25 250 187\.5/);
    // What comes from others while somebody looks closely leaves them where they are.
    await say(mechanic, "Taken from the left.");
    await expect(inspector.getByText("Taken from the left.")).toBeVisible();
    await expect(drawing).toHaveAttribute("viewBox", /^100 56\.25 250 187\.5/);
    await inspector.keyboard.press("0");
    await expect(drawing).toHaveAttribute("viewBox", "0 0 400 300");
    await closely(inspector);

    // Sent back while the mechanic has no network: one finding on a photo, one on a reading.
    await hangar.setOffline(true);
    await sendBack(inspector);
    await say(mechanic, "The light is better in the afternoon.");
    await expect(mechanic.getByText("Smeared around this head.")).toBeHidden();

    // Back in reach: the findings are there, each with its place.
    await hangar.setOffline(false);
    await allSent(mechanic);
    const finding = (text) => mechanic.locator(".findings > li", { hasText: text });
    await expect(finding("Smeared around this head.").getByText(/At photo before/)).toBeVisible();
    const ring = finding("Smeared around this head.").locator(".spot-ring");
    expect(Math.abs(Number(await ring.getAttribute("cx")) - 250)).toBeLessThan(20);
    const across = finding("Measure across too.");
    await expect(across.getByText("At reading “Hole 4, along”")).toBeVisible();
    await accessible(mechanic);

    // Answered with a reading and a photo, and offered again.
    await addLine(mechanic, "Readings", reading("Hole 4, across", "0.131"));
    await across.getByRole("checkbox", { name: /Hole 4, across/ }).check();
    await across.getByLabel("What you did about it").fill("Measured the other way.");
    await across.getByRole("button", { name: "Save the answer" }).click();
    await finding("Smeared around this head.").locator("input[type=file]").setInputFiles(photos.files.slice(2));
    await expect(finding("Smeared around this head.").getByText("1 photo answers this")).toBeVisible({ timeout: 30_000 });
    await offer(mechanic, "Measured both ways.");
    await allSent(mechanic);

    // The inspector sees what changed, and everything when asked.
    await inspect(inspector, server.url, FIRST);
    await expect(inspector.getByText("The light is better in the afternoon.")).toBeVisible();
    await expect(inspector.getByText("Answer: Measured the other way.; reading “Hole 4, across” 0.131 in")).toBeVisible();
    const rows = inspector.locator(".table[aria-label='Readings'] tbody th");
    await expect(rows).toHaveText(["Hole 4, across"]);
    // The photo that answers lies against the one before; the rejected one is a choice away.
    const after = inspector.getByLabel("Compare after");
    await expect(after.locator("option")).toHaveCount(2);
    await expect(after).toHaveValue(await after.locator("option").last().getAttribute("value"));
    await expect(inspector.getByLabel("Compare before")).toHaveCount(0);
    const shown = () => inspector.locator(".compare > svg svg image").getAttribute("href");
    const latest = await shown();
    await after.focus();
    await inspector.keyboard.press("ArrowUp");
    await expect.poll(async () => (await shown()) !== latest).toBe(true);
    await inspector.getByLabel("Show only what changed").uncheck();
    await expect(rows).toHaveCount(2);
    await say(inspector, "Well shown, thank you.");
    await accessible(inspector);
    await inspector.getByRole("button", { name: "Accept", exact: true }).click();
    await expect(mechanic.getByText("Well shown, thank you.")).toBeVisible();
    await expect(mechanic.locator(".step-page .badge", { hasText: "accepted" }).first()).toBeVisible();
  } finally {
    await photos.remove();
    await hangar.close();
    await office.close();
  }
});

test("a finding on a hole: typed while others talk, kept over a reload, answered in the register", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  // The inspector with a phone, the mechanic at a desk: the loop works the other way round too.
  const [hangar, office] = [await browser.newContext(desk), await browser.newContext(phone)];
  const [mechanic, inspector] = [await hangar.newPage(), await office.newPage()];
  try {
    await signIn(inspector, server.url, "inspector");
    await allSent(inspector);
    await inspect(inspector, server.url, WAITING);
    const review = inspector.url();
    await signIn(mechanic, server.url, "mechanic");
    await allSent(mechanic);
    const job = review.replace("/inspect/", "/jobs/").replace(/\/[^/]+$/, "");
    const step = `${job}/steps/${review.split("/").at(-1)}`;
    await mechanic.goto(step);
    await ready(mechanic);

    // A comment comes while a finding is typed: nothing typed is lost.
    await inspector.getByRole("button", { name: "Return with findings" }).click();
    const sheet = inspector.locator("dialog[open]");
    const first = sheet.getByLabel("Finding 1", { exact: true });
    await first.fill("Still oval, across");
    const points = sheet.getByLabel("Finding 1 points to");
    await points.selectOption({ label: "Hole 7 of Attach flange, row of sixteen" });
    await say(mechanic, "The reamer was new.");
    await expect(inspector.getByText("The reamer was new.")).toBeAttached();
    await expect(first).toBeFocused();
    await first.press("End");
    await first.pressSequentially(" the row.");
    await expect(first).toHaveValue("Still oval, across the row.");
    await expect(points.locator("option:checked")).toHaveText("Hole 7 of Attach flange, row of sixteen");

    // Nor by a reload.
    await inspector.waitForTimeout(500);
    await inspector.reload();
    await ready(inspector);
    await expect(inspector.getByText("1 finding is being written")).toBeVisible();
    await expect(inspector.getByRole("img", { name: /a ring around hole 7$/ })).toBeVisible();
    await inspector.getByRole("button", { name: "Return with findings" }).click();
    await expect(first).toHaveValue("Still oval, across the row.");
    await expect(points.locator("option:checked")).toHaveText("Hole 7 of Attach flange, row of sixteen");
    await sheet.getByRole("button", { name: "Another finding" }).click();
    await sheet.getByLabel("Finding 2", { exact: true }).fill("Chips are left everywhere.");
    await expect(sheet.getByLabel("Finding 2 points to").locator("option:checked")).toHaveText("The whole step");
    await accessible(inspector);
    await sheet.getByRole("button", { name: "Return the step" }).click();
    await inspector.waitForURL("**/inspect");
    await allSent(inspector);

    // One has a place, the other one is about the whole step.
    const finding = (text) => mechanic.locator(".findings > li", { hasText: text });
    await expect(finding("Still oval, across the row.").getByText("At hole 7 of Attach flange, row of sixteen")).toBeVisible();
    await expect(finding("Chips are left everywhere.")).toBeVisible();
    await expect(finding("Chips are left everywhere.").locator(".pin-words")).toHaveCount(0);

    // Put right at the hole itself, and offered again.
    await mechanic.locator("main a[href*='/joints/']").first().click();
    await mechanic.waitForURL("**/joints/*");
    await mechanic.locator(".hole-line").nth(6).click();
    const hole = mechanic.locator("dialog[open]");
    await expect(hole.getByRole("heading")).toHaveText("Hole 7");
    await hole.getByLabel("Largest across").fill("0.161 in");
    await hole.getByRole("button", { name: "Pass" }).click();
    await mechanic.goto(step);
    await ready(mechanic);
    await offer(mechanic, "Round now.");
    await allSent(mechanic);

    await inspect(inspector, server.url, WAITING);
    const answered = inspector.locator("li", { hasText: "Still oval, across the row." });
    await expect(answered.getByText(/In the hole register: .*largest across 0\.161 in.*result: pass/)).toBeVisible();
    await expect(answered.getByText("not answered")).toHaveCount(0);
    await expect(inspector.locator("li", { hasText: "Chips are left everywhere." }).getByText("not answered")).toBeVisible();
    await expect(inspector.getByRole("img", { name: /a ring around hole 7$/ })).toBeVisible();
    await expect(inspector.locator(".pattern [data-ringed]")).toHaveCount(1);
    await expect(inspector.getByText("Nothing changed since then.")).toHaveCount(0);
    await accessible(inspector);
    await inspector.getByRole("button", { name: "Accept", exact: true }).click();
    await inspector.waitForURL("**/inspect");
    await expect(mechanic.locator(".step-page .badge", { hasText: "accepted" }).first()).toBeVisible();
  } finally {
    await hangar.close();
    await office.close();
  }
});

test("the inspector sees the hole register drawn beside the step, without a network too", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const office = await browser.newContext(desk);
  try {
    const page = await office.newPage();
    await signIn(page, server.url, "inspector");
    await allSent(page);
    await office.setOffline(true);
    await inspect(page, server.url, WAITING);
    await expect(page.getByRole("img", { name: "Hole pattern of Attach flange, row of sixteen, to scale", exact: true })).toBeVisible();
    // The joint's own worksheet stands on no step, and is shown with its working all the same.
    const sheets = page.locator("section.section", { has: page.getByRole("heading", { name: "Of joints and layups" }) });
    await sheets.locator("summary", { hasText: "Attach flange" }).first().click();
    await expect(sheets.locator(".working").first()).toBeVisible();
    await expect(page.locator("main a[href*='/layups/']").first()).toBeVisible();
    await accessible(page);
  } finally {
    await office.close();
  }
});

test("a lead lets work go on over a hold point, and the record says so", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const [hangar, office] = [await browser.newContext(phone), await browser.newContext(desk)];
  const [mechanic, lead] = [await hangar.newPage(), await office.newPage()];
  try {
    await signIn(mechanic, server.url, "mechanic");
    await openJob(mechanic, JOB);
    const job = mechanic.url();
    await mechanic.locator('main a[href*="/steps/"]', { hasText: "Decide the fastener for each hole" }).click();
    await mechanic.waitForURL("**/steps/**");
    await expect(mechanic.getByText("Held back.")).toBeVisible();
    await expect(mechanic.getByRole("button", { name: "Override the hold point" })).toHaveCount(0);
    const step = mechanic.url();
    await allSent(mechanic);

    await signIn(lead, server.url, "lead");
    await allSent(lead);
    await lead.goto(step);
    await ready(lead);
    await lead.getByRole("button", { name: "Override the hold point" }).click();
    const sheet = lead.locator("dialog[open]");
    await sheet.getByLabel("Why work goes on although it is not accepted").fill("The inspector looked at it by video.");
    await sheet.getByRole("button", { name: "Save" }).click();
    await expect(lead.getByText("Hold point overridden:")).toBeVisible();
    await expect(lead.getByText("Held back.")).toBeHidden();
    await allSent(lead);

    await expect(mechanic.getByText("The inspector looked at it by video.")).toBeVisible();
    await expect(mechanic.getByRole("button", { name: "Start", exact: true })).toBeVisible();
    await accessible(mechanic);

    const record = job.replace("/jobs/", "/record/");
    const told = lead.locator(".record").getByText("The inspector looked at it by video.");
    await lead.goto(record);
    // At its step, and among what was done otherwise.
    await expect(told).toHaveCount(2);
    await expect(told.first()).toBeVisible();

    // Taken back, it holds again.
    await lead.goto(step);
    await ready(lead);
    await lead.getByRole("button", { name: "Take the override back" }).click();
    await expect(lead.getByText("Held back.")).toBeVisible();
    await allSent(lead);
    // Work may have gone on under it: the record goes on to tell of it.
    await lead.goto(record);
    await expect(told).toHaveCount(2);
    await expect(lead.locator(".record").getByText(/Taken back by/).first()).toBeVisible();
  } finally {
    await hangar.close();
    await office.close();
  }
});

test("a signature is confirmed by the password, and shows when it is overtaken", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const office = await browser.newContext(desk);
  const lead = await office.newPage();
  try {
    await signIn(lead, server.url, "lead");
    await openJob(lead, JOB);
    await allSent(lead);
    await lead.getByRole("button", { name: "Sign", exact: true }).click();
    const sheet = lead.locator("dialog[open]");
    await sheet.getByRole("radio", { name: "Approved for return to service by" }).check();
    await expect(sheet.getByLabel("Statement")).toHaveValue(/approved for return to service/);
    await sheet.getByLabel("Name").fill(" ");
    await sheet.getByRole("button", { name: "Sign", exact: true }).click();
    await expect(sheet.getByText("A signature needs a name.")).toBeVisible();
    await expect(sheet.getByLabel("Name")).toBeFocused();
    await expect(sheet.getByText(/rests on a certificate or licence: of which kind/)).toBeVisible();
    await expect(sheet.getByText(/rests on a certificate or licence: which number/)).toBeVisible();
    await sheet.getByLabel("Name").fill("Shop lead");
    await sheet.getByLabel("Kind of certificate or licence").fill("Mechanic, airframe (invented)");
    await sheet.getByLabel("Certificate or licence number").fill("INV-0042");
    await sheet.getByRole("button", { name: "Sign", exact: true }).click();
    await expect(sheet.getByText("The password is asked at the moment of signing.")).toBeVisible();
    await expect(sheet.getByText("A signature needs a name.")).toBeHidden();
    await sheet.getByLabel("Password").fill("wrong-password-1");
    await accessible(lead);
    await sheet.getByRole("button", { name: "Sign", exact: true }).click();
    await expect(sheet.getByText("The password is not right. Nothing was signed.")).toBeVisible();
    await expect(sheet.getByLabel("Certificate or licence number")).toHaveValue("INV-0042");
    await sheet.getByLabel("Password").fill(PASSWORD);
    await sheet.getByRole("button", { name: "Sign", exact: true }).click();
    await expect(sheet).toBeHidden();
    await expect(lead.getByText(/confirmed by password/)).toBeVisible();
    await allSent(lead);

    const job = lead.url();
    await lead.goto(job.replace("/jobs/", "/record/"));
    await expect(lead.locator(".record").getByText("INV-0042", { exact: false }).first()).toBeVisible();
    await lead.goto(job);
    await ready(lead);
    await openFirstStep(lead);
    await lead.getByRole("button", { name: "Start", exact: true }).click();
    await expect(lead.locator(".step-page .badge", { hasText: "in work" })).toBeVisible();
    await lead.goto(job);
    await ready(lead);
    await expect(lead.getByText("Overtaken:")).toBeVisible();
  } finally {
    await office.close();
  }
});

test("what others record meanwhile is shown before anything is signed, and one's own signature is taken back", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const [hangar, office] = [await browser.newContext(phone), await browser.newContext(desk)];
  const [mechanic, lead] = [await hangar.newPage(), await office.newPage()];
  try {
    await signIn(lead, server.url, "lead");
    await openJob(lead, JOB);
    await allSent(lead);
    const job = lead.url();
    await signIn(mechanic, server.url, "mechanic");
    await mechanic.goto(job);
    await ready(mechanic);
    await openFirstStep(mechanic);

    // Between the lead's tap and the server's look, the mechanic begins.
    let confirmations = 0;
    await office.route("**/auth/confirm", async (route) => {
      confirmations += 1;
      if (confirmations === 1) {
        await mechanic.getByRole("button", { name: "Start", exact: true }).click();
        await allSent(mechanic);
      }
      await route.continue();
    });
    await lead.getByRole("button", { name: "Sign", exact: true }).click();
    const sheet = lead.locator("dialog[open]");
    await sheet.getByLabel("Password").fill(PASSWORD);
    await sheet.getByRole("button", { name: "Sign", exact: true }).click();
    await expect(sheet.getByText(/What you are about to sign has changed: .*step “.*” altered/)).toBeVisible({ timeout: 20_000 });
    await expect(sheet.getByLabel("Password")).toHaveValue("");
    await sheet.getByLabel("Password").fill(PASSWORD);
    await sheet.getByRole("button", { name: "Sign", exact: true }).click();
    await expect(sheet).toBeHidden();
    expect(confirmations).toBe(2);
    const signatures = (page) => page.locator("section.section", { has: page.getByRole("heading", { name: "Signatures", exact: true }) });
    await expect(signatures(lead).getByText(/confirmed by password/)).toBeVisible();
    await allSent(lead);

    // Nobody takes another's back.
    await mechanic.goto(job);
    await ready(mechanic);
    await expect(signatures(mechanic).getByText(/confirmed by password/)).toBeVisible();
    await expect(signatures(mechanic).getByRole("button", { name: "Take back" })).toHaveCount(0);

    await signatures(lead).getByRole("button", { name: "Take back" }).click();
    const asked = lead.locator("dialog[open]");
    await expect(asked.getByText(/stays in the record/)).toBeVisible();
    await accessible(lead);
    await asked.getByRole("button", { name: "Leave it" }).click();
    await expect(signatures(lead).getByText(/Taken back by/)).toHaveCount(0);
    await signatures(lead).getByRole("button", { name: "Take back" }).click();
    await asked.getByRole("button", { name: "Take it back" }).click();
    await expect(asked).toBeHidden();
    await expect(signatures(lead).getByText(/Taken back by Shop lead/)).toBeVisible();
    await expect(signatures(lead).getByRole("button", { name: "Take back" })).toHaveCount(0);
    await allSent(lead);
    await expect(signatures(mechanic).getByText(/Taken back by Shop lead/)).toBeVisible();
    await lead.goto(job.replace("/jobs/", "/record/"));
    await expect(lead.locator(".record").getByText(/was taken back/)).toBeVisible();
  } finally {
    await hangar.close();
    await office.close();
  }
});

/** Looks at a photo alone: at full resolution, enlarged by keys, wheel and two taps. */
async function closely(page) {
  const original = page.waitForRequest((request) => request.url().includes("size=original"));
  await page.locator("main .photos .photo button").first().click();
  await original;
  const sheet = page.locator("dialog[open]");
  await expect(sheet.getByText("Full resolution.")).toBeVisible();
  const photo = sheet.locator(".compare > svg");
  const whole = await photo.getAttribute("viewBox");
  const width = async () => Number((await photo.getAttribute("viewBox")).split(" ")[2]);
  expect(await width()).toBe(400);
  await photo.focus();
  await page.keyboard.press("+");
  expect(await width()).toBe(250);
  await page.keyboard.press("0");
  await photo.dblclick();
  expect(await width()).toBe(100);
  await photo.dblclick();
  await expect(photo).toHaveAttribute("viewBox", whole);
  await photo.hover();
  await page.mouse.wheel(0, -100);
  await expect.poll(width).toBeLessThan(400);
  await accessible(page);
  await sheet.getByRole("button", { name: "Next" }).click();
  await expect(photo).toHaveAttribute("viewBox", /^0 0 400 /);
  await page.keyboard.press("Escape");
}

const reading = (label, value) => ({
  "What was measured": label,
  Value: value,
  Unit: "in",
  "Least accepted": "0.128",
  "Most accepted": "0.132",
});

async function moment(page, word) {
  await page.getByRole("navigation", { name: "Moment" }).getByRole("link", { name: word }).click();
  await expect(page.getByRole("heading", { name: word, exact: true })).toBeVisible();
}

async function sendBack(page) {
  await page.getByRole("button", { name: "Return with findings" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Finding 1", { exact: true }).fill("Smeared around this head.");
  const first = sheet.getByLabel("Finding 1 points to");
  await first.selectOption(await first.locator("option", { hasText: "Photo before" }).getAttribute("value"));
  const photo = sheet.getByRole("group", { name: /Where on the photo/ });
  await expect(photo.locator("img")).toBeVisible();
  const box = await photo.boundingBox();
  await photo.click({ position: { x: box.width / 4, y: box.height / 4 } });
  await accessible(page);
  await sheet.getByRole("button", { name: "Another finding" }).click();
  await sheet.getByLabel("Finding 2", { exact: true }).fill("Measure across too.");
  await sheet.getByLabel("Finding 2 points to").selectOption({ label: "Reading: Hole 4, along" });
  await sheet.getByRole("button", { name: "Return the step" }).click();
  await expect(sheet).toBeHidden();
  await allSent(page);
}

async function say(page, text) {
  await page.getByLabel("Comment", { exact: true }).fill(text);
  await page.getByRole("button", { name: "Add the comment" }).click();
  await expect(page.getByRole("button", { name: "Take the comment out" }).last()).toBeVisible();
}
