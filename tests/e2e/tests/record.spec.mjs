// The files that the server makes of a job: fetched with progress, refused in words, and what they are.

import { execFile } from "node:child_process";
import { readFile } from "node:fs/promises";
import { promisify } from "node:util";
import { accessible } from "../support/axe.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";

const run = promisify(execFile);

// The tests' server is not optimised: a record takes it half a minute on a busy machine.
test.describe.configure({ timeout: 240_000 });

test("the record comes as PDF, and the bundle verifies", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  await openRecord(page, server, "Re-glass the torn attach flange");

  const pdf = await fetched(page, "PDF");
  expect(pdf.suggestedFilename()).toMatch(/-record\.pdf$/);
  expect((await readFile(await pdf.path())).subarray(0, 8).toString()).toBe("%PDF-1.7");

  const bundle = await fetched(page, "Evidence bundle");
  expect(bundle.suggestedFilename()).toMatch(/-bundle\.zip$/);
  const { stdout } = await run(process.env.FAYING_BIN, ["verify", await bundle.path()]).catch((failed) => failed);
  expect(stdout.match(/^FAILS.*$/gm) ?? []).toEqual([]);
  expect(stdout).toContain("Everything holds.");
  await expect(page.getByRole("button", { name: "Evidence bundle" })).toBeVisible();

  // Without a network the page says who makes the file, and stays what it was.
  await context.setOffline(true);
  await page.getByRole("button", { name: "PDF" }).click();
  await expect(page.getByRole("alert")).toContainText("no connection to the server");
  await expect(page.locator(".record h1")).toContainText("Re-glass the torn attach flange");
  await context.setOffline(false);
  await fetched(page, "PDF");
});

test("a file on its way can be cancelled, and a refusal is told", async ({ page, freshServer }) => {
  const server = await freshServer({ demo: true });
  await openRecord(page, server, "Smears around the tail-cone fairing rivets");
  let answer;
  await page.route("**/record.pdf", async (route) => {
    await new Promise((resolve) => (answer = resolve));
    await route.abort().catch(() => {});
  });
  await page.getByRole("button", { name: "PDF" }).click();
  await expect(page.getByRole("status").filter({ hasText: "PDF: the server is making it" })).toBeVisible();
  await page.getByRole("button", { name: "Cancel" }).click();
  await expect(page.getByRole("button", { name: "PDF" })).toBeVisible();
  answer();
  await page.unroute("**/record.pdf");

  const headers = { "x-faying-protocol": "1", "content-type": "application/problem+json" };
  await page.route("**/record.pdf", (route) => route.fulfill({ status: 429, headers, body: "{}" }));
  await page.getByRole("button", { name: "PDF" }).click();
  await expect(page.getByRole("alert")).toContainText("Try again in a minute");
});

test("photos are left out of the record and shown again, on the page and on paper", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  await openRecord(page, server, "Re-glass the torn attach flange");
  await context.setOffline(true);
  await page.getByRole("button", { name: "Choose photos" }).click();
  const sheet = page.locator("dialog[open]");
  // The first holds the photos of the discrepancy.
  const step = sheet.locator("fieldset").nth(1);
  const ticks = step.getByRole("checkbox");
  const inStep = await ticks.count();
  const title = await step.locator("legend").innerText();
  const figures = page.locator(".step-record", { has: page.getByRole("heading", { name: title, exact: true }) }).locator("figure");
  await expect(figures).toHaveCount(inStep);
  await ticks.first().uncheck();
  await expect(sheet.getByRole("heading", { name: /Photos in the record: \d+ of \d+/ })).toBeVisible();
  await accessible(page);
  await sheet.getByRole("button", { name: "Close" }).click();
  await expect(page.getByText("1 more photo not shown here: in the job and in its bundle.")).toBeVisible();
  await expect(figures).toHaveCount(inStep - 1);

  await context.setOffline(false);
  await allSent(page);
  const pdf = await fetched(page, "PDF");
  const { stdout } = await run("pdftotext", [await pdf.path(), "-"]);
  expect(stdout.replace(/\s+/g, " ")).toContain("1 more photo not shown here");

  await page.getByRole("button", { name: "Choose photos" }).click();
  await step.getByRole("button", { name: /^Leave all out of/ }).click();
  await expect(step.getByRole("checkbox", { checked: true })).toHaveCount(0);
  await step.getByRole("button", { name: /^Show all of/ }).click();
  await expect(step.getByRole("checkbox", { checked: true })).toHaveCount(inStep);
  await sheet.getByRole("button", { name: "Close" }).click();
  await expect(figures).toHaveCount(inStep);
});

test("the page says what the paper says, on a narrow screen and without script", async ({ page, context, browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  await openRecord(page, server, "Re-glass the torn attach flange");
  const narrow = await browser.newContext({
    storageState: await context.storageState(), javaScriptEnabled: false, viewport: { width: 390, height: 844 },
  });
  const record = await narrow.newPage();
  // The same address: the app's own page here, the server's there.
  await record.goto(page.url());
  for (const title of ["Hardware and materials of the whole job", "Working time", "Findings, and how they were closed", "Done otherwise, with the reason given", "Signatures"]) {
    await expect(record.getByRole("heading", { name: title, exact: true })).toBeVisible();
  }
  await expect(record.locator("dt", { hasText: "Worked on it" }).locator("+ dd")).toHaveText("Inspector, Mechanic");
  await expect(record.locator("[aria-label='Time worked']").first()).toContainText("Mechanic");
  await expect(record.locator("[aria-label='Readings']").first()).toContainText(/caliper.*UTC/i);
  await expect(record.getByText("not answered").first()).toBeVisible();
  expect(await record.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
  await narrow.close();
});

async function openRecord(page, server, title) {
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await page.goto(`${server.url}/jobs`);
  await page.locator("main a[href*='/jobs/']", { hasText: title }).first().click();
  await page.waitForURL("**/jobs/*/*");
  await page.getByRole("link", { name: "Record" }).click();
  await expect(page.locator(".record h1")).toContainText(title);
}

async function fetched(page, name) {
  const download = page.waitForEvent("download", { timeout: 120_000 });
  await page.getByRole("button", { name }).click();
  return download;
}
