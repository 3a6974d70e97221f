// Every screen of the app with the way to it, for the pictures and for the
// accessibility checks. `show` leaves the page settled on the screen.

import { ready } from "./app.mjs";
import { Desk, uuid } from "./desk.mjs";
import { allSent, signIn } from "./people.mjs";

/** Signs in to the demo as somebody who sees everything the mechanic does. */
export async function prepare(page, login = "mechanic") {
  await signIn(page, new URL(page.url()).origin, login);
  await allSent(page);
}

const FLANGE = "Re-glass the torn attach flange, left wing-tip fairing";

/** Before anybody has signed in. */
export const outside = [at("front", "/"), at("sign-in", "/sign-in"), at("open-record", "/open")];

/** @type {{ name: string, show: (page: import("playwright-core").Page) => Promise<void> }[]} */
export const screens = [
  at("jobs", "/jobs"),
  at("new-job", "/new"),
  { name: "job", show: job },
  { name: "step-accepted", show: (page) => step(page, "Survey the flange hole by hole") },
  { name: "step-returned", show: (page) => step(page, "Re-drill the holes") },
  { name: "step-in-work", show: (page) => step(page, "Trial fit with pins") },
  { name: "step-line", show: line },
  { name: "step-line-from-shelf", show: lineFromShelf },
  { name: "photo", show: photo },
  { name: "worksheets", show: worksheets },
  { name: "worksheet-form", show: worksheetForm },
  { name: "worksheet", show: worksheet },
  { name: "joint", show: joint },
  { name: "joint-hole", show: jointHole },
  { name: "measure", show: measure },
  { name: "measure-result", show: measureResult },
  { name: "layup", show: layup },
  { name: "layup-damage", show: layupDamage },
  { name: "cut-list", show: cutList },
  { name: "weigh", show: weigh },
  { name: "weigh-cup", show: weighCup },
  { name: "weigh-clock", show: weighClock },
  { name: "history", show: history },
  { name: "cost", show: cost },
  { name: "job-closed", show: closed },
  { name: "entry", show: (page) => paper(page, "1 entry") },
  { name: "screening", show: (page) => paper(page, "Major or minor?") },
  { name: "promise", show: promise },
  { name: "aircraft", show: aircraft },
  { name: "aircraft-figures", show: aircraftFigures },
  { name: "record", show: record },
  at("inspect", "/inspect"),
  { name: "inspect-step", show: inspectStep },
  at("stock", "/stock"),
  { name: "stock-item", show: stockItem },
  { name: "stock-add", show: stockAdd },
  { name: "catalogue", show: catalogue },
  { name: "search", show: search },
  at("sync", "/sync"),
  at("team", "/team"),
  at("join", "/join"),
];

/** What only who leads the shop sees. */
export const screensOfLead = [
  at("team-of-lead", "/team"),
  { name: "access", show: access },
  { name: "access-link", show: accessLink },
  { name: "closing", show: closing },
  { name: "entry-templates", show: entryTemplates },
  { name: "entry-template", show: entryTemplate },
];

/** A form and an answered worksheet of every kind, in a job that is opened for them. */
export async function screensOfKinds(url, login) {
  const desk = await Desk.signIn(url, login);
  const kinds = await desk.get("calc");
  const step = uuid();
  const asked = kinds.map(({ kind, example }) => ({ id: uuid(), kind, example }));
  const job = await desk.openJob([
    { kind: "job.v1", set: { title: "A worksheet of every kind", part: "Test panel", discrepancy: "None: an example." } },
    { kind: "step.v1", id: step, set: { title: "Work it out", order: "80" } },
    ...asked.map(({ id, kind, example }) => (
      { kind: "worksheet.v1", id, step, set: { kind, title: "As the example asks", input: example } }
    )),
  ]);
  const place = `/jobs/${desk.shop}/${job}`;
  return asked.flatMap(({ id, kind }) => [
    { name: `form-${kind}`, show: (page) => there(page, `${place}/steps/${step}/worksheet/${kind}/full`, "main form") },
    { name: `worksheet-${kind}`, show: (page) => there(page, `${place}/worksheets/${id}`, ".working") },
  ]);
}

async function there(page, path, what) {
  await go(page, path);
  await page.locator(what).first().waitFor();
  await settled(page);
}

/** A screen that an address leads to. */
export function at(name, path) {
  return { name, show: (page) => go(page, path) };
}

async function go(page, path) {
  await page.goto(path);
  await settled(page);
}

/** Until the app answers and nothing is being read any more. */
export async function settled(page) {
  await ready(page);
  await page.waitForFunction(() => !document.querySelector("main .skeleton"));
  // A browser leaves lazy pictures alone that are far below what is seen.
  await page.waitForFunction(() =>
    [...document.images].every((image) => image.complete || image.getBoundingClientRect().top > innerHeight),
  );
}

async function job(page) {
  await go(page, "/jobs");
  await page.locator("main a[href*='/jobs/']", { hasText: FLANGE }).first().click();
  await page.waitForURL("**/jobs/*/*");
  await settled(page);
}

/** The job that is closed: its group is folded away. */
async function closed(page) {
  await go(page, "/jobs");
  await page.getByText("Done", { exact: true }).click();
  await page.locator("main a[href*='/jobs/']", { hasText: "Re-fit the right wing-tip fairing" }).first().click();
  await page.waitForURL("**/jobs/*/*");
  await settled(page);
}

async function paper(page, link) {
  await closed(page);
  await page.getByRole("link", { name: link }).click();
  await page.waitForURL("**/jobs/*/*/*");
  await settled(page);
}

async function promise(page) {
  await closed(page);
  await page.getByRole("button", { name: "Edit promise" }).first().click();
  await page.locator("dialog[open]").waitFor();
}

async function aircraft(page) {
  await closed(page);
  await page.getByRole("link", { name: "The aircraft" }).click();
  await page.waitForURL("**/aircraft/*/*");
  await settled(page);
}

async function aircraftFigures(page) {
  await aircraft(page);
  await page.getByRole("button", { name: "Edit", exact: true }).click();
  await page.locator("dialog[open]").waitFor();
}

async function entryTemplates(page) {
  await go(page, "/team");
  await page.getByRole("link", { name: "Entry templates" }).click();
  await page.waitForURL("**/team/*/entries");
  await settled(page);
}

async function entryTemplate(page) {
  await entryTemplates(page);
  await page.getByRole("button", { name: "Add" }).click();
  await page.locator("dialog[open]").waitFor();
  await page.getByRole("button", { name: "Begin with the app's own text" }).click();
}

async function step(page, title) {
  await job(page);
  await page.locator("main a[href*='/steps/']", { hasText: title }).first().click();
  await page.waitForURL("**/steps/*");
  await settled(page);
}

async function line(page) {
  await step(page, "Trial fit with pins");
  await page.locator("section.section", { has: page.getByRole("heading", { name: "Hardware", exact: true }) })
    .getByRole("button", { name: "Add" }).click();
  await page.locator("dialog[open]").waitFor();
}

async function lineFromShelf(page) {
  await line(page);
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Search the shelf and the catalogue").fill("MS20470AD4");
  await sheet.getByRole("button", { name: /^MS20470AD4-5/ }).first().click();
  await sheet.getByLabel("How many went in").fill("500");
  await sheet.getByLabel("Search the shelf and the catalogue").fill("1/8");
  await sheet.getByRole("button", { name: /from the catalogue/ }).first().waitFor();
}

async function stockItem(page) {
  await go(page, "/stock");
  await page.locator("main .line-link", { hasText: "Laminating epoxy" }).click();
  await page.waitForURL("**/stock/*/*");
  await page.locator("main .lines .line-link").first().waitFor();
}

async function stockAdd(page) {
  await go(page, "/stock");
  await page.getByRole("button", { name: "Add material" }).click();
  await page.locator("dialog[open]").getByLabel("Search the catalogue").fill("7781");
  await page.locator("dialog[open]").getByRole("button", { name: /7781/ }).first().waitFor();
}

async function catalogue(page) {
  await go(page, "/stock/catalogue");
  await page.getByLabel("Search the catalogue").fill("1/8");
  await page.locator("main .lines > li").first().waitFor();
}

async function photo(page) {
  await step(page, "Survey the flange hole by hole");
  await page.locator(".step-page .photo button").first().click();
  await page.locator("dialog[open] .viewer img").waitFor();
  await settled(page);
}

async function closing(page) {
  await job(page);
  await page.getByRole("button", { name: "Close the job" }).click();
  await page.locator("dialog[open]").waitFor();
}

async function worksheets(page) {
  await step(page, "Trial fit with pins");
  await page.getByRole("link", { name: "New worksheet" }).click();
  await page.waitForURL("**/worksheet");
  await settled(page);
}

async function worksheetForm(page) {
  await worksheets(page);
  await page.getByRole("link", { name: /Rivet length/ }).first().click();
  await page.getByLabel("Its thickness").first().fill("0.032");
  await page.getByLabel("Its thickness").nth(1).fill("0.064");
  await settled(page);
}

async function worksheet(page) {
  await step(page, "Re-drill the holes");
  await page.locator("main a[href*='/worksheets/']").first().click();
  await page.waitForURL("**/worksheets/*");
  await settled(page);
}

async function joint(page) {
  await job(page);
  await page.locator("main a[href*='/joints/']").first().click();
  await page.waitForURL("**/joints/*");
  await settled(page);
  await page.locator(".hole-line").first().waitFor();
}

async function layup(page) {
  await job(page);
  await page.locator("main a[href*='/layups/']").last().click();
  await page.waitForURL("**/layups/*");
  await settled(page);
  await page.locator("[data-summary]").waitFor();
}

async function layupDamage(page) {
  await layup(page);
  await page.getByRole("button", { name: "Alter the damage" }).click();
  await page.locator("dialog[open]").waitFor();
}

async function cutList(page) {
  await layup(page);
  await page.getByRole("link", { name: "Cut list to print" }).click();
  await page.waitForURL("**/cut-list");
  await page.getByRole("group", { name: "Pieces to cut" }).waitFor();
}

async function weigh(page) {
  await step(page, "Trial fit with pins");
  await page.getByRole("link", { name: "Weigh resin in" }).click();
  await page.waitForURL("**/weigh");
  await settled(page);
}

async function weighCup(page) {
  await weigh(page);
  // What an earlier picture left as a draft is still there.
  const begin = page.getByRole("button", { name: "Weigh in", exact: true });
  await begin.or(page.locator(".pour").first()).first().waitFor();
  if (await begin.isVisible()) {
    const fill = (label, text) => page.getByLabel(label, { exact: true }).fill(text);
    await page.getByLabel("Search the shelf and the catalogue").first().fill("laminating epoxy");
    await page.getByRole("button", { name: /^Laminating epoxy with slow hardener.*batch/ }).click();
    await page.getByLabel("Resin and hardener are one item on the shelf").check();
    await fill("Area of one ply", "0.12 m²");
    await fill("Plies of that area", "4");
    await fill("Weight of the dry cloth", "280 g/m²");
    await fill("Most in one cup", "120 g");
    await fill("Temperature of resin and room today", "21 °C");
    await begin.click();
  }
  await page.getByRole("button", { name: "Part A poured as asked" }).click();
  await page.getByLabel("Poured, part B").fill("20");
}

async function weighClock(page) {
  await weighCup(page);
  await page.getByRole("button", { name: "Part B poured as asked" }).click();
  await page.getByRole("button", { name: "Mixed now: the clock starts" }).click();
  await page.locator(".pot").first().waitFor();
}

async function jointHole(page) {
  await joint(page);
  await page.locator(".hole-line").nth(6).click();
  await page.locator("dialog[open] .say").first().waitFor();
}

async function measure(page) {
  await joint(page);
  await page.getByRole("button", { name: "Add holes" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByRole("radio", { name: "On a photo" }).check();
  await sheet.locator(".photo button").first().click();
  await page.waitForURL("**/measure/*");
  await page.locator(".board--photo canvas").waitFor();
}

/** Marks at places of the photo that stand for what a person would mark. */
async function measureResult(page) {
  await measure(page);
  const step = (name) => page.getByRole("radio", { name, exact: true }).check();
  const mark = async (places) => {
    const board = page.locator(".board--photo");
    await board.evaluate((it) => it.scrollIntoView({ block: "center" }));
    const pane = await board.boundingBox();
    for (const [x, y] of places) await page.mouse.click(pane.x + x * pane.width, pane.y + y * pane.height);
  };
  await mark([[0.25, 0.25], [0.7, 0.27], [0.72, 0.55], [0.24, 0.53]]);
  await step("Holes");
  await page.getByLabel("New marks don't snap").check();
  await mark([[0.25, 0.64], [0.4, 0.65], [0.55, 0.66]]);
  await step("Edge");
  await mark([[0.2, 0.7], [0.8, 0.72]]);
  await step("Result");
  await page.locator(".measured td").first().waitFor();
}

async function search(page) {
  await go(page, "/search?q=rivet");
  await page.locator("main .hits > li").first().waitFor();
}

async function cost(page) {
  await job(page);
  await page.getByRole("link", { name: "Time and cost" }).click();
  await page.getByText("Currencies are not added").waitFor();
}

async function access(page) {
  await job(page);
  await page.getByRole("link", { name: "Guests and links" }).click();
  await page.getByRole("button", { name: "Make a link" }).waitFor();
  await settled(page);
}

async function accessLink(page) {
  await access(page);
  await page.getByRole("button", { name: "Make a link" }).click();
  await page.locator("dialog[open]").getByRole("button", { name: "Make the link" }).click();
  await page.locator("dialog[open] .qr").waitFor();
}

async function history(page) {
  await job(page);
  await page.getByRole("link", { name: "History" }).click();
  await page.locator("#change-1").or(page.getByRole("button", { name: "Show older ones" })).waitFor();
}

async function record(page) {
  await job(page);
  const [, shop, id] = page.url().match(/jobs\/([^/]+)\/([^/?#]+)/);
  await page.goto(`/record/${shop}/${id}`);
  await page.locator(".record").waitFor();
}

async function inspectStep(page) {
  await go(page, "/inspect");
  await page.locator("main a.card").first().click();
  await page.waitForURL("**/inspect/*/*/*");
  await settled(page);
}
