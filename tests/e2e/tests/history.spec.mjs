// A long job on a new device: there at once by its state, its single changes when somebody asks for them.

import { ready } from "../support/app.mjs";
import { Desk } from "../support/desk.mjs";
import { longJob } from "../support/long_job.mjs";
import { signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";

test.describe.configure({ timeout: 150_000 });

const CHANGES = 2_500;

test("a long job is opened by its state, and its history is fetched when asked for", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  const desk = await Desk.signIn(server.url, "lead");
  const job = await desk.openJob(longJob(CHANGES));
  const asked = [];
  await context.route(`**/jobs/${job}/**`, (route) => {
    asked.push(new URL(route.request().url()));
    return route.continue();
  });
  await signIn(page, server.url, "mechanic");
  await expect(page.locator(".job-card", { hasText: "Weeks of work" })).toBeVisible({ timeout: 60_000 });
  expect(asked.filter((url) => url.pathname.endsWith("/snapshot"))).toHaveLength(1);
  const pages = () => asked.filter((url) => url.pathname.endsWith("/changes")).map((url) => url.searchParams.get("since"));
  expect(pages(), "the tail alone").toEqual([String(CHANGES - 1)]);

  await context.setOffline(true);
  await page.goto(`${server.url}/jobs/${desk.shop}/${job}`);
  await ready(page);
  await expect(page.locator("main li a[href*='/steps/']")).toHaveCount(40);
  await page.getByRole("link", { name: "History" }).click();
  await expect(page.locator("main h1")).toHaveText("History");
  await expect(page.getByText("Older changes could not be fetched")).toBeVisible();
  await expect(page.locator("main ol > li")).toHaveCount(1);

  await context.setOffline(false);
  await page.getByRole("button", { name: "Try again" }).click();
  await expect(page.locator("main ol > li")).toHaveCount(100, { timeout: 60_000 });
  await expect(page.locator("main ol > li").first()).toContainText("Reading");
  expect(pages().slice(1)).toEqual(["0", "1000", "2000"]);
  await page.getByRole("button", { name: "Show older ones" }).click();
  await expect(page.locator("main ol > li")).toHaveCount(200);

  // From then on it is here, also without a network.
  await context.setOffline(true);
  await page.reload();
  await ready(page);
  await expect(page.locator("main ol > li")).toHaveCount(100);
  await expect(page.getByText("could not be fetched")).toHaveCount(0);
});
