// A phone without a network opens a job of five thousand changes and three hundred photos. The app
// is up and shows the list; from the tap on the job's card until its steps are in view, painted, and
// lead somewhere.

import { ready } from "../support/app.mjs";
import { longJob, openWithPhotos } from "../support/long_job.mjs";
import { signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";
import { RUNS, painted, report, slow, unwatched } from "./measure.mjs";

const CHANGES = 5_000;
const PHOTOS = 300;
const BUDGET_MS = 700;

test.use(unwatched);
test.describe.configure({ timeout: 600_000 });
test.skip(({ isMobile }) => !isMobile, "a phone's bench");

test("a job of 5,000 changes and 300 photos opened without a network", async ({ context, freshServer }) => {
  const server = await freshServer({ demo: true });
  const { job } = await openWithPhotos(server, "lead", PHOTOS, (digests) => longJob(CHANGES, digests));

  const page = await context.newPage();
  await signIn(page, server.url, "mechanic");
  await expect(page.locator(".job-card", { hasText: "Weeks of work" })).toBeVisible({ timeout: 60_000 });
  await page.locator(".sync-line", { hasText: "all sent" }).waitFor({ timeout: 300_000 });
  await page.close();
  await context.setOffline(true);

  const opened = [];
  for (let run = 0; run < RUNS; run++) opened.push(await open(context, `${server.url}/jobs`, job));
  report("job of 5,000 changes and 300 photos, steps usable", opened, BUDGET_MS);
});

/** @returns {Promise<number>} milliseconds from the tap on the card */
async function open(context, address, job) {
  const page = await context.newPage();
  await page.goto(address);
  await ready(page);
  const card = page.locator(`.job-card a[href$="${job}"]`).or(page.locator(`a.job-card[href$="${job}"]`)).first();
  await card.waitFor();
  // Somebody finds the job in the list first; meanwhile the app fetches ahead and comes to rest.
  await page.waitForTimeout(2_500);
  await slow(page);
  const usable = await painted(page, ["main .work-line a[href*='/steps/']"], () => card.click());
  await page.close();
  return usable;
}
