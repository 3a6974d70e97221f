// Picking on a step from a shelf of two thousand items and the whole catalogue, without a network:
// from a key in the search field until its results are in the page.

import { ready } from "../support/app.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";
import { openFirstStep, openJob } from "../support/work.mjs";
import { report, slow, unwatched } from "./measure.mjs";
import { fillShelf } from "./many_jobs.mjs";

const ITEMS = 2000;
const BUDGET_MS = 30;
const TYPED = "ms20470ad4 5";

const JOB = {
  title: "Four rivets",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Four rivets smear.",
  template: "Replacement of working rivets",
};

test.use(unwatched);
test.describe.configure({ timeout: 300_000 });
test.skip(({ isMobile }) => !isMobile, "a phone's bench");

test("search of the shelf and the catalogue, per key", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  await fillShelf(server.url, "mechanic", ITEMS);
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await page.goto(`${server.url}/stock`);
  await ready(page);
  await expect(page.getByText(`${ITEMS + 13} items`)).toBeVisible({ timeout: 60_000 });
  await context.setOffline(true);
  await page.goto(`${server.url}/jobs`);
  await ready(page);
  await openJob(page, JOB);
  await openFirstStep(page);
  await page.locator("section.section", { has: page.getByRole("heading", { name: "Hardware", exact: true }) })
    .getByRole("button", { name: "Add" }).click();
  const field = page.locator("dialog[open]").getByLabel("Search the shelf and the catalogue");
  // The catalogue comes with the first touch; typing goes on meanwhile.
  await field.fill("washer");
  await expect(page.locator("dialog[open]").getByText(/in the catalogue/)).toBeVisible();
  await field.fill("");
  await slow(page);
  const keys = await field.evaluate(typeEach, TYPED);
  report(`search of ${ITEMS} items and the catalogue, per key`, keys, BUDGET_MS);
  console.log(`the slowest key: ${Math.round(Math.max(...keys))} ms`);
  await expect(page.locator("dialog[open] .line-link").first()).toContainText("MS20470AD4-5");
});

/** In the page: types letter by letter; milliseconds from each key until nothing of it is left to do. */
async function typeEach(field, typed) {
  const keys = [];
  for (let end = 1; end <= typed.length; end++) {
    const begun = performance.now();
    field.value = typed.slice(0, end);
    field.dispatchEvent(new InputEvent("input", { bubbles: true }));
    // Effects run as microtasks: a message comes after all of them.
    await new Promise((resolve) => {
      const after = new MessageChannel();
      after.port1.onmessage = resolve;
      after.port2.postMessage("");
    });
    keys.push(performance.now() - begun);
    await new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
  }
  return keys;
}
