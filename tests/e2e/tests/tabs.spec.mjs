// The app open in two tabs of one phone: both show what either does, one sends.

import { ready } from "../support/app.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { photoFiles } from "../support/photos.mjs";
import { expect, test } from "../support/server.mjs";
import { openStep, photograph } from "../support/work.mjs";

test.describe.configure({ timeout: 150_000 });

test("two tabs are both live, one sends, and the other takes over", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  const photos = await photoFiles(3);
  await signIn(page, server.url, "mechanic");
  await openStep(page, "Re-glass the torn attach flange", "Trial fit with pins");
  await allSent(page);
  const second = await context.newPage();
  await second.goto(page.url());
  await ready(second);

  const senders = new Set();
  const pushed = [];
  await context.route("**/changes", async (route) => {
    const request = route.request();
    if (request.method() === "POST") {
      senders.add(request.frame().page());
      pushed.push(...request.postDataJSON().changes.map((change) => JSON.parse(change.text).id));
    }
    return route.continue();
  });
  const shown = (tab) => tab.locator(".step-page .photo");
  const before = await shown(page).count();
  await expect(shown(second)).toHaveCount(before);

  await photograph(page, [photos.files[0]]);
  await expect(shown(second)).toHaveCount(before + 1);
  await photograph(second, [photos.files[1]]);
  await expect(shown(page)).toHaveCount(before + 2);
  await expect.poll(() => pushed.length, { timeout: 30_000 }).toBe(2);
  for (const tab of [page, second]) await allSent(tab);
  expect(new Set(pushed).size, "each once").toBe(2);
  expect([...senders], "by the tab that was there first").toEqual([page]);

  await page.close();
  await photograph(second, [photos.files[2]]);
  await expect.poll(() => pushed.length, { timeout: 30_000 }).toBe(3);
  await allSent(second);
  await photos.remove();
});
