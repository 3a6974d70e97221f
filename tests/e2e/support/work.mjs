// What a mechanic and an inspector do on the screens, as they do it.

import { expect } from "@playwright/test";
import { ready } from "./app.mjs";

/** A job of the invented two-seater whose template begins with a hold point. */
export const WORKING_RIVETS = {
  title: "Rivets that smear, tail-cone fairing",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Four rivets on the left side smear.",
  template: "Replacement of working rivets",
};

/** Opens a job from the list's own button; leaves the page on the job. */
export async function openJob(page, { title, registration, part, discrepancy, template }) {
  await page.getByRole("link", { name: "New job" }).first().click();
  await page.getByLabel("The job in one line").fill(title);
  await page.getByLabel("Registration", { exact: true }).fill(registration);
  await page.getByLabel("Part", { exact: true }).fill(part);
  await page.getByLabel("What is wrong, as found").fill(discrepancy);
  await page.getByLabel("Document").fill("Type's maintenance manual (invented)");
  await page.getByRole("radio", { name: template }).check();
  await page.getByRole("button", { name: "Open the job" }).click();
  await expect(page.locator("main h1").filter({ hasText: title })).toBeVisible();
}

/** Goes to the job's first step. */
export async function openFirstStep(page) {
  await page.locator('main a[href*="/steps/"]').first().click();
  await page.waitForURL("**/steps/**");
  await expect(page.locator(".step-page h1")).toBeVisible();
}

/** Goes to a step of a job by their titles. */
export async function openStep(page, job, step) {
  await page.locator("main a[href*='/jobs/']", { hasText: job }).first().click();
  await page.waitForURL("**/jobs/*/*");
  await page.locator("main a[href*='/steps/']", { hasText: step }).first().click();
  await page.waitForURL("**/steps/**");
  await expect(page.locator(".step-page h1")).toBeVisible();
}

/** Takes photos in the moment that is shown. */
export async function photograph(page, files) {
  const tiles = page.locator(".step-page .photo");
  const before = await tiles.count();
  await page.locator(".dock input[type=file]").setInputFiles(files);
  await expect(tiles).toHaveCount(before + files.length, { timeout: 30_000 });
  // Shots on their way become tiles of saved photos.
  await expect(page.locator(".step-page .photo .where", { hasText: /only on this/i }).or(page.locator(".step-page .photo img")).first()).toBeVisible();
}

/** Fills a line of one of the step's sections in. */
export async function addLine(page, section, fields) {
  await page.locator("section.section", { has: page.getByRole("heading", { name: section, exact: true }) })
    .getByRole("button", { name: "Add" }).click();
  const sheet = page.locator("dialog[open]");
  for (const [label, value] of Object.entries(fields)) await sheet.getByLabel(label, { exact: true }).fill(value);
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();
}

/** Offers the step for inspection. */
export async function offer(page, note) {
  await page.locator(".dock").getByRole("button", { name: /^(Finish|Offer)$/ }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("For the inspector").fill(note);
  await sheet.getByRole("button", { name: "Offer for inspection" }).click();
  await expect(sheet).toBeHidden();
}

/** Opens what waits under this title. */
export async function inspect(page, url, title) {
  await page.goto(`${url}/inspect`);
  await ready(page);
  await page.locator("main a.card", { hasText: title }).first().click();
  await page.waitForURL("**/inspect/**/**/**");
}
