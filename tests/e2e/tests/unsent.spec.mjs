// What a device alone holds: listed, taken along as a file, refused and dealt with, and never signed away unasked.

import { readFile } from "node:fs/promises";
import { ready } from "../support/app.mjs";
import { Desk } from "../support/desk.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";
import { openJob } from "../support/work.mjs";

test.describe.configure({ timeout: 150_000 });

const JOB = {
  title: "Made without a network",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Four rivets on the left side smear.",
  template: "Replacement of working rivets",
};

/** The screen that says what is unsent. */
async function sync(page) {
  await page.goto(new URL("/sync", page.url()).href);
  await ready(page);
}

const section = (page, title) => page.locator("section.section", { has: page.getByRole("heading", { name: title }) });

async function saved(page, button) {
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: button }).first().click()]);
  return { name: download.suggestedFilename(), path: await download.path() };
}

test("what waits is listed, and goes out by way of another device as a file", async ({ page, browser, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);
  await sync(page);
  const waiting = section(page, "Not sent yet").locator("li");
  await expect(waiting.first()).toContainText(/job.*waits for a connection/);
  const unsent = await waiting.count();
  expect(unsent).toBeGreaterThan(5);
  const file = await saved(page, "Save what is unsent");
  expect(file.name).toBe("faying-unsent.jsonl");

  const elsewhere = await browser.newContext();
  const other = await elsewhere.newPage();
  await signIn(other, server.url, "mechanic");
  await sync(other);
  await other.locator("input[type=file]").setInputFiles(file.path);
  await expect(other.getByText("The file was taken in")).toBeVisible();
  await allSent(other);
  await other.goto(`${server.url}/jobs`);
  await expect(other.locator(".job-card", { hasText: JOB.title })).toHaveCount(1);

  // The first device comes back after all: everything is there once.
  await context.setOffline(false);
  await allSent(page);
  await expect(section(page, "Not sent yet")).toContainText("Everything on this device is on the server.");
  await page.goto(`${server.url}/jobs`);
  await expect(page.locator(".job-card", { hasText: JOB.title })).toHaveCount(1);
  await elsewhere.close();
});

test("what the server refuses can be saved, dropped and taken back, corrected and sent again", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);
  const { me } = await Desk.signIn(server.url, "mechanic");
  const roles = async (...roles) => {
    const lead = await Desk.signIn(server.url, "lead");
    await lead.changeShop([{ kind: "member.v1", id: me.user, set: { roles } }]);
  };
  await roles("observer");
  await context.setOffline(false);
  await sync(page);
  const refused = section(page, "Refused by the server").locator("li.card");
  await expect(refused.first()).toBeVisible({ timeout: 30_000 });
  await expect(page.locator(".sync-line")).toContainText("refused");
  await expect(section(page, "Not sent yet")).toContainText("Everything on this device is on the server.");
  const all = await refused.count();
  expect(all).toBeGreaterThan(5);

  const file = await saved(page, "Save as a file");
  const kept = JSON.parse(await readFile(file.path, "utf8"));
  expect(kept.reason).toBe("not-permitted");
  await refused.first().getByRole("button", { name: "Drop" }).click();
  await refused.first().getByRole("button", { name: "Take it back" }).click();
  await expect(refused.first().getByRole("button", { name: "Drop" })).toBeVisible();

  await roles("mechanic");
  await expect.poll(async () => (await Desk.signIn(server.url, "mechanic")).me.shops[0].roles).toContain("mechanic");
  await page.getByRole("button", { name: "Try now" }).click();
  const facts = refused.filter({ has: page.getByRole("heading", { name: "job", exact: true }) }).first();
  await facts.getByRole("button", { name: "Correct" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Title").fill("Corrected and sent");
  await sheet.getByRole("button", { name: "Send it" }).click();
  await expect(sheet).toBeHidden();
  for (let left = all - 1; left > 0; left--) {
    await expect(refused).toHaveCount(left);
    await refused.first().getByRole("button", { name: "Send again" }).click();
  }
  await expect(refused).toHaveCount(0);
  await allSent(page);
  await page.goto(`${server.url}/jobs`);
  await expect(page.locator(".job-card", { hasText: "Corrected and sent" })).toHaveCount(1);
});

test("signing out with unsent work warns, keeps it locked, and signing in again sends it", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);
  await page.goto(`${server.url}/team`);
  await ready(page);
  await page.getByRole("button", { name: "Sign out" }).click();
  const sheet = page.locator("dialog[open]");
  await expect(sheet).toContainText(/\d+ changes and 0 photos are on this device only/);
  await sheet.getByRole("button", { name: "Sign out and keep it" }).click();
  await page.waitForURL("**/sign-in");
  await context.setOffline(false);
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await page.goto(`${server.url}/jobs`);
  await expect(page.locator(".job-card", { hasText: JOB.title })).toHaveCount(1);
});

test("a login that expired while offline asks to sign in, and then sends what was made", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);
  // The session ends elsewhere: the cookie goes, and the token with the page.
  await context.clearCookies();
  await context.setOffline(false);
  await sync(page);
  await expect(page.getByText("Sign in to send. What is here stays here until then.")).toBeVisible({ timeout: 30_000 });
  await page.goto(`${server.url}/jobs`);
  await expect(page.locator(".job-card", { hasText: JOB.title })).toHaveCount(1);
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await sync(page);
  await expect(section(page, "Not sent yet")).toContainText("Everything on this device is on the server.");
});
