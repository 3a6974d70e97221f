// A new release comes out while the app is open: nobody is thrown out of what
// they are doing, and no page ever runs with another build's files.

import { open, ready, storedBuilds } from "../support/app.mjs";
import { laterRelease } from "../support/release.mjs";
import { expect, test } from "../support/server.mjs";

const buildOf = (page) => page.locator("html").getAttribute("data-build");

/** Serves the release after the one under test, from now on. */
async function publish(server) {
  const release = await laterRelease();
  await server.stop();
  server.useSite(release.site);
  await server.start();
  return release;
}

/** Looks for a new worker and answers the state of it. */
const lookForUpdate = (page) =>
  page.evaluate(async () => {
    const registration = await navigator.serviceWorker.getRegistration();
    await registration.update();
    const worker = registration.installing ?? registration.waiting;
    while (worker?.state === "installing") {
      await new Promise((resolve) => worker.addEventListener("statechange", resolve, { once: true }));
    }
    return worker?.state;
  });

test("the first visit is not reloaded when the worker takes over", async ({ page, freshServer }) => {
  await page.addInitScript(() => {
    sessionStorage.setItem("loads", Number(sessionStorage.getItem("loads") ?? 0) + 1);
  });
  const server = await freshServer();
  await open(page, server.url);
  await page.waitForTimeout(500);
  expect(await page.evaluate(() => sessionStorage.getItem("loads"))).toBe("1");
});

test("a new build waits until it is asked for, then replaces the old one whole", async ({ page, freshServer }) => {
  const server = await freshServer();
  await open(page, server.url);
  const first = await buildOf(page);
  const release = await publish(server);

  expect(await lookForUpdate(page)).toBe("installed");
  await page.reload();
  await ready(page);
  expect(await buildOf(page)).toBe(first);
  expect((await storedBuilds(page)).sort()).toEqual([`faying-${first}`, `faying-${release.build}`].sort());

  await page.getByRole("button", { name: "Reload" }).click();
  await expect(page.locator("html")).toHaveAttribute("data-build", release.build);
  await ready(page);
  const marker = await page.evaluate(() => getComputedStyle(document.documentElement).getPropertyValue("--later-release"));
  expect(marker.trim()).toBe("1");
  expect(await storedBuilds(page)).toEqual([`faying-${release.build}`]);
  await release.remove();
});

test("a build is refused while an older server still answers for the shell", async ({ page, context, freshServer }) => {
  const server = await freshServer();
  await open(page, server.url);
  const first = await buildOf(page);
  // Half-way through a deployment: the worker is new, the shell is not.
  const old = await context.request.get(`${server.url}/shell`);
  const [headers, body] = [old.headers(), await old.body()];
  const release = await publish(server);
  await context.route("**/shell", (route) => route.fulfill({ status: 200, headers, body }));

  expect(await lookForUpdate(page)).toBe("redundant");
  expect(await storedBuilds(page)).toEqual([`faying-${first}`]);
  await page.reload();
  await ready(page);
  expect(await buildOf(page)).toBe(first);

  await context.unroute("**/shell");
  expect(await lookForUpdate(page)).toBe("installed");
  await release.remove();
});
