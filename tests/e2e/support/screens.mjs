// Every screen of the app with the way to it, for the pictures and for the
// accessibility checks. `show` leaves the page settled on the screen.

import { ready } from "./app.mjs";
import { allSent, signIn } from "./people.mjs";

/** Signs in to the demo as somebody who sees everything the mechanic does. */
export async function prepare(page, login = "mechanic") {
  await signIn(page, new URL(page.url()).origin, login);
  await allSent(page);
}

const FLANGE = "Re-glass the torn attach flange, left wing-tip fairing";

/** Before anybody has signed in. */
export const outside = [at("front", "/"), at("sign-in", "/sign-in")];

/** @type {{ name: string, show: (page: import("playwright-core").Page) => Promise<void> }[]} */
export const screens = [
  at("jobs", "/jobs"),
  at("new-job", "/new"),
  { name: "job", show: job },
  { name: "step-accepted", show: (page) => step(page, "Survey the flange hole by hole") },
  { name: "step-returned", show: (page) => step(page, "Re-drill the holes") },
  { name: "step-in-work", show: (page) => step(page, "Trial fit with pins") },
  { name: "step-line", show: line },
  { name: "photo", show: photo },
  { name: "worksheets", show: worksheets },
  { name: "worksheet-form", show: worksheetForm },
  { name: "worksheet", show: worksheet },
  { name: "joint", show: joint },
  { name: "joint-hole", show: jointHole },
  { name: "record", show: record },
  at("inspect", "/inspect"),
  { name: "inspect-step", show: inspectStep },
  at("sync", "/sync"),
  at("team", "/team"),
  at("join", "/join"),
];

/** What only who leads the shop sees. */
export const screensOfLead = [at("team-of-lead", "/team"), { name: "closing", show: closing }];

/** A screen that an address leads to. */
export function at(name, path) {
  return { name, show: (page) => go(page, path) };
}

async function go(page, path) {
  await page.goto(path);
  await settled(page);
}

/** Until the app answers and nothing is being read any more. */
async function settled(page) {
  await ready(page);
  await page.locator("main .skeleton").waitFor({ state: "detached" });
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
  await page.getByRole("link", { name: /Rivet length/ }).click();
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

async function jointHole(page) {
  await joint(page);
  await page.locator(".hole-line").nth(6).click();
  await page.locator("dialog[open] .say").first().waitFor();
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
