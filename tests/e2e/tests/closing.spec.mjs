// What closes a job: the entry held against its rule, major or minor, promises that come due on list and aircraft,
// without a network; then the record says all of it, page and PDF.

import { execFile } from "node:child_process";
import { promisify } from "node:util";
import { ready } from "../support/app.mjs";
import { accessible } from "../support/axe.mjs";
import { Desk, uuid } from "../support/desk.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";

const run = promisify(execFile);

test.describe.configure({ timeout: 180_000 });

const TITLE = "Crack stop-drilled in the cowling";

/** A job on an aircraft of the shop, done but for its papers. */
async function prepared(server) {
  const desk = await Desk.signIn(server.url, "lead");
  const aircraft = uuid();
  await desk.changeShop([
    { kind: "aircraft.v1", id: aircraft, set: { registration: "ZZ-CLO", type_name: "two-seat microlight", serial: "77" } },
    { kind: "aircraft-figures.v1", id: aircraft, set: { hours: 812.4, hours_on: "2026-11-20" } },
  ]);
  const job = await desk.openJob([
    { kind: "job.v1", set: {
      title: TITLE, aircraft, registration: "ZZ-CLO", aircraft_type: "two-seat microlight", aircraft_serial: "77",
      part: "Engine cowling, lower half", discrepancy: "Crack of 12 mm at the aft edge.",
      closing_statement: "Crack stop-drilled and laid over with two plies.", closed_at: Date.now(),
    } },
    { kind: "data-reference.v1", id: uuid(), set: { document: "Repair scheme RS-12", paragraph: "3.4" } },
    { kind: "step.v1", id: uuid(), set: { title: "Stop-drill", order: "80" } },
  ]);
  return { desk, aircraft, job };
}

test("a job's papers are written offline, come due, and stand in the record", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  const { desk, aircraft, job } = await prepared(server);
  const place = `${server.url}/jobs/${desk.shop}/${job}`;
  await context.grantPermissions(["clipboard-read", "clipboard-write"], { origin: server.url });
  await signIn(page, server.url, "lead");
  await allSent(page);
  await page.goto(place);
  await ready(page);
  await expect(page.locator("main h1")).toHaveText(TITLE);
  await context.setOffline(true);

  await entry(page);
  await page.goto(place);
  await ready(page);
  await screening(page);
  await page.goto(place);
  await ready(page);
  await promises(page);

  // The list says what is due although the job is done; the aircraft says it first, and knows its jobs.
  await page.goto(`${server.url}/jobs`);
  await ready(page);
  const due = page.locator("section.section", { has: page.getByRole("heading", { name: "Due to be looked at again" }) });
  await expect(due.locator(".job-card", { hasText: TITLE })).toContainText("Look again: Stop hole for a new crack, at 800 airframe hours");
  await page.goto(`${server.url}/aircraft/${desk.shop}/${aircraft}`);
  await ready(page);
  await expect(page.locator("main h1")).toHaveText("ZZ-CLO");
  await expect(within(page, "To be looked at again").locator("li")).toHaveText([/Stop hole.*due/, /Paint on the edge.*open/]);
  await expect(within(page, "Its jobs, latest first").locator("li")).toHaveText([new RegExp(TITLE)]);
  await accessible(page);

  // Looked at: neither due nor open any more; taken back, it is.
  await page.getByRole("link", { name: "Stop hole for a new crack" }).click();
  await line(page, "Stop hole").getByRole("button", { name: "It was looked at" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("What was seen").fill("No crack.");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet.getByText("Is empty. Accepted: the day it was looked at")).toBeVisible();
  await sheet.getByLabel("Looked at on").fill("2026-11-28");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(line(page, "Stop hole")).toContainText("kept");
  await page.getByRole("button", { name: "Undo" }).last().click();
  await expect(line(page, "Stop hole")).toContainText("due");

  await context.setOffline(false);
  await allSent(page);
  await recorded(context, server, desk, job);
});

/** Builds, edits, builds again, undoes, copies. */
async function entry(page) {
  await page.getByRole("link", { name: "Write the entry" }).click();
  await expect(page.locator("main h1")).toHaveText("Maintenance-record entry");
  await page.getByRole("button", { name: "Maintenance, by 14 CFR 43.9" }).click();
  const text = page.getByLabel("The entry", { exact: true });
  await expect(text).toHaveValue(/Crack stop-drilled and laid over with two plies\.\nDone to: Repair scheme RS-12, 3\.4/);
  await expect(text).toHaveValue(/Airframe hours: 812\.4 h/);
  const asked = page.getByRole("list", { name: "What the rule asks for" }).locator("li");
  await expect(asked).toHaveText([/43\.9\(a\)\(1\).*there/, /43\.9\(a\)\(2\).*there/, /43\.9\(a\)\(3\).*read it/, /43\.9\(a\)\(4\).*read it/, /43\.9\(a\)\(4\).*missing/]);
  await expect(page.locator("p", { hasText: "Blanks left:" })).toContainText("name of who did the work; name of the person approving; certificate kind and number");
  const built = await text.inputValue();
  const signed = built
    .replace("[name of who did the work]", "M. Echanic")
    .replace("[name of the person approving]", "L. Ead")
    .replace("[certificate kind and number]", "mechanic certificate 0000042");
  await text.fill(signed);
  await expect(asked.last()).toContainText("read it");
  await expect(page.locator("p", { hasText: "Blanks left:" })).toHaveCount(0);
  await expect(page.locator(".sticker")).toContainText("L. Ead, mechanic certificate 0000042");

  // A killed tab loses nothing of what was typed.
  await expect(page.getByText("Not saved yet")).toBeVisible();
  await page.waitForTimeout(500);
  await page.reload();
  await ready(page);
  await expect(text).toHaveValue(signed);
  await page.getByRole("button", { name: "Save the entry" }).click();
  await expect(page.getByText("Entry saved")).toBeVisible();

  await page.getByRole("button", { name: "Build again from the job" }).click();
  await expect(text).toHaveValue(built);
  await expect(page.getByText("Entry built again")).toBeVisible();
  await page.getByRole("button", { name: "Undo" }).last().click();
  await expect(text).toHaveValue(signed);
  await page.getByRole("button", { name: "Copy the text" }).click();
  await expect(page.getByText("Entry copied")).toBeVisible();
  expect(await page.evaluate(() => navigator.clipboard.readText())).toBe(signed);
  await page.getByLabel("Width of the label").selectOption("62");
  expect(await page.locator(".sticker").evaluate((it) => Math.round(it.getBoundingClientRect().width * 25.4 / 96))).toBe(62);
  await page.emulateMedia({ media: "print" });
  await expect(page.locator(".sticker")).toBeVisible();
  await expect(text).toBeHidden();
  await expect(page.locator("main h1")).toBeHidden();
  await page.emulateMedia({ media: "screen" });
  for (const [width, height] of [["50", 80], ["62", 100], ["76", 102], ["102", 152]]) {
    await page.getByLabel("Width of the label").selectOption(width);
    await page.emulateMedia({ media: "print" });
    await printsOnLabel(page, Number(width), height);
    await page.emulateMedia({ media: "screen" });
  }
  await accessible(page);
}

/** The paper that the browser asks the printer for is the label, every page of it. */
async function printsOnLabel(page, width, height) {
  const file = test.info().outputPath(`label-${width}.pdf`);
  await page.pdf({ path: file, preferCSSPageSize: true, printBackground: true });
  const { stdout } = await run("pdfinfo", ["-f", "1", "-l", "9", "-box", file]);
  const boxes = [...stdout.matchAll(/MediaBox: +0\.00 +0\.00 +([\d.]+) +([\d.]+)/g)];
  const pages = Number(/Pages: +(\d+)/.exec(stdout)[1]);
  expect(boxes).toHaveLength(pages);
  for (const [, wide, high] of boxes) {
    expect(Math.abs(wide * 25.4 / 72 - width)).toBeLessThan(0.5);
    expect(Math.abs(high * 25.4 / 72 - height)).toBeLessThan(0.5);
  }
  expect(pages, "the entry fits on one label").toBe(1);
}

/** All no but one; a decision without its reason is refused. */
async function screening(page) {
  await page.getByRole("link", { name: "Major or minor?" }).click();
  const no = page.getByRole("radio", { name: "no", exact: true });
  await expect(no.first()).toBeVisible();
  await page.getByRole("radio", { name: "repair", exact: true }).check();
  const questions = await no.count();
  for (let at = 0; at < questions; at += 1) {
    await no.nth(at).check();
    await expect(no.nth(at)).toBeChecked();
  }
  await expect(page.getByText("No question points to major work.")).toBeVisible();
  await page.getByRole("radio", { name: "yes, or in doubt" }).nth(1).check();
  await expect(page.getByText("1 answer is yes or in doubt: ask a licensed person")).toBeVisible();
  await page.getByRole("button", { name: "Record the decision" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("The licensed person decided").selectOption("major");
  await sheet.getByLabel("Name of who decided").fill("L. Ead");
  await sheet.getByLabel("Their certificate or licence").fill("inspection authorization 0000042");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet.getByText("Is empty. Accepted: a sentence or two")).toBeVisible();
  await sheet.getByLabel("Why").fill("Plies laid over a stressed edge.");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();
  const report = within(page, "For the report of major work");
  await expect(report).toContainText("Crack stop-drilled and laid over with two plies.");
  await expect(report).toContainText("to be filled in");
  await expect(report.locator("dt", { hasText: "Repair or alteration" }).locator("+ dd")).toHaveText("repair");
  // 14 CFR Part 43 Appendix B (a) and (a)(3).
  await expect(report).toContainText("at least twice");
  await expect(report).toContainText("within 48 hours");
  await accessible(page);
}

/** One by hours that have passed, one by a day far off; neither without a date. */
async function promises(page) {
  const sheet = page.locator("dialog[open]");
  const add = async (what, when, value) => {
    await within(page, "To be looked at again").getByRole("button", { name: "Add" }).click();
    await sheet.getByLabel("What to look at").fill(what);
    await sheet.getByRole("button", { name: "Save" }).click();
    await expect(sheet.getByText("And hours are both empty")).toBeVisible();
    await sheet.getByLabel(when).fill(value);
    await sheet.getByRole("button", { name: "Save" }).click();
    await expect(sheet).toBeHidden();
  };
  await add("Stop hole for a new crack", "At how many airframe hours", "800");
  await add("Paint on the edge", "By which day", "2149-05-01");
  await expect(line(page, "Stop hole")).toContainText("due");
  await expect(line(page, "Paint on the edge")).toContainText("open");
}

async function recorded(context, server, desk, job) {
  const answer = await context.request.get(`${server.url}/record/${desk.shop}/${job}`);
  const html = await answer.text();
  for (const words of [
    "Major repair, decided by L. Ead, inspection authorization 0000042",
    "Plies laid over a stressed edge.",
    "L. Ead, mechanic certificate 0000042",
    "at 800 airframe hours",
  ]) expect(html).toContain(words);
}

test("a shop's own template refuses a name that stands for nothing, and makes an entry", async ({ page, freshServer }) => {
  const server = await freshServer({ demo: true });
  const { desk, job } = await prepared(server);
  await signIn(page, server.url, "lead");
  await allSent(page);
  await page.getByRole("link", { name: "Team", exact: true }).click();
  await page.getByRole("link", { name: "Entry templates" }).click();
  await page.getByRole("button", { name: "Add" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Name of the template").fill("National authority, release after repair");
  await sheet.getByLabel("Its text").fill("{registration}: {wrok} [licence]");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet.getByText("“{wrok}” stands for nothing. Accepted: {registration}, {aircraft}")).toBeVisible();
  await sheet.getByLabel("Its text").fill("{registration}: {work} [licence]");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();
  await accessible(page);
  await page.goto(`${server.url}/jobs/${desk.shop}/${job}/entry`);
  await ready(page);
  await page.getByRole("button", { name: "National authority, release after repair" }).click();
  await expect(page.getByLabel("The entry", { exact: true })).toHaveValue("ZZ-CLO: Crack stop-drilled and laid over with two plies. [licence]");
  await expect(page.locator("p", { hasText: "Blanks left:" })).toContainText("licence");
});

test("weight and balance begins with the aircraft's figures, and its result becomes them", async ({ page, freshServer }) => {
  const server = await freshServer({ demo: true });
  const { desk, aircraft, job } = await prepared(server);
  await desk.changeShop([
    { kind: "aircraft-figures.v1", id: aircraft, set: { empty_weight: "1169 lb", empty_arm: "10.6 in", aft_limit: "10.5 in", source: "weighing report 3" } },
  ]);
  await signIn(page, server.url, "lead");
  await allSent(page);
  await page.goto(`${server.url}/jobs/${desk.shop}/${job}`);
  await ready(page);
  await page.locator('main a[href*="/steps/"]').first().click();
  await page.getByRole("link", { name: "New worksheet" }).click();
  await page.getByRole("link", { name: /^Weight balance/ }).click();
  await expect(page.getByText("Begun with the aircraft's figures, weighing report 3.")).toBeVisible();
  const fields = page.locator("main form");
  await expect(fields.getByLabel("Weight", { exact: true }).first()).toHaveValue("1169 lb");
  await expect(fields.getByLabel("Aft limit", { exact: true })).toHaveValue("10.5 in");
  // AC 43.13-1B chapter 10, by its sums: 2.5 lb at -20 in.
  const item = page.getByRole("group", { name: "Item 1" });
  await item.getByLabel("Change", { exact: true }).selectOption("installed");
  await item.getByLabel("Name", { exact: true }).fill("Repair plies");
  await item.getByLabel("Weight", { exact: true }).fill("2.5 lb");
  await item.getByLabel("Arm", { exact: true }).fill("-20 in");
  await expect(page.getByText("W = 1169 lb + (2.5 lb)")).toBeVisible();
  await expect(page.getByText("The new centre of gravity lies outside the limits that were entered")).toBeVisible();
  await page.getByLabel("For what").fill("Plies over the cowling's edge");
  await page.getByRole("button", { name: "Save the worksheet" }).click();
  await page.waitForURL("**/worksheets/*");
  await expect(page.getByText("The server's result: the one of record.")).toBeVisible();
  await accessible(page);
  await page.getByRole("button", { name: "Keep as the aircraft's figures" }).click();
  await expect(page.getByText("Aircraft's figures replaced")).toBeVisible();
  await page.getByRole("link", { name: "The aircraft" }).click();
  await expect(within(page, "Hours, weight and balance")).toContainText("1171.5 lb");
  await expect(within(page, "Hours, weight and balance")).toContainText("10.53 in");
  await allSent(page);
  const html = await (await page.context().request.get(`${server.url}/record/${desk.shop}/${job}`)).text();
  expect(html).toContain("Weight-and-balance change");
  expect(html).toContain("1171.5 lb");
});

function within(page, title) {
  return page.locator("section.section", { has: page.getByRole("heading", { name: title, exact: true }) });
}

function line(page, what) {
  return within(page, "To be looked at again").locator("li", { hasText: what });
}
