// The files that the server makes of a job: fetched with progress, refused in words, and what they are.

import { execFile } from "node:child_process";
import { readFile } from "node:fs/promises";
import { promisify } from "node:util";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";

const run = promisify(execFile);

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
  const download = page.waitForEvent("download", { timeout: 60_000 });
  await page.getByRole("button", { name }).click();
  return download;
}
