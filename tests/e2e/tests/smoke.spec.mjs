// The promise on which all others stand: once opened, the app is there without
// a network and without a server.

import { offlineReady, open, ready, storedBuilds } from "../support/app.mjs";
import { expect, test } from "../support/server.mjs";

test("the app opens with its server killed, also at an address inside", async ({ page, server }) => {
  await open(page, server.url);
  await expect(page.locator("main")).toBeVisible();

  await server.kill9();
  await page.reload();
  await ready(page);
  await expect(page.locator("main")).toBeVisible();

  const answer = await page.goto(`${server.url}/sync`);
  expect(answer.fromServiceWorker()).toBe(true);
  await ready(page);
  await expect(page.locator("main")).toBeVisible();
});

test("exactly one build is stored, whole, and it is the one on the page", async ({ page, server }) => {
  await open(page, server.url);
  const build = await page.locator("html").getAttribute("data-build");
  expect(await storedBuilds(page)).toEqual([`faying-${build}`]);
  const description = await (await fetch(`${server.url}/sw.js`)).text();
  const listed = JSON.parse(description.match(/const PRECACHE = (\[.*?\]);/s)[1]);
  const stored = await page.evaluate(async (name) => {
    const requests = await (await caches.open(name)).keys();
    return requests.map((request) => new URL(request.url).pathname);
  }, `faying-${build}`);
  expect(stored.sort()).toEqual(listed.sort());
});

test("an unknown file is a 404, never a page in its place", async ({ page, server }) => {
  await open(page, server.url);
  const status = (path) => page.evaluate(async (path) => (await fetch(path)).status, path);
  expect(await status("/pkg/app-000000000000.js")).toBe(404);
  expect(await status("/icons/nothing.png")).toBe(404);
});

test("data are never stored by the worker", async ({ page, server }) => {
  await open(page, server.url);
  await page.evaluate(() => fetch("/api/v1/openapi.json").then((answer) => answer.text()));
  const stored = await page.evaluate(async () => {
    const all = await Promise.all((await caches.keys()).map(async (name) => (await caches.open(name)).keys()));
    return all.flat().map((request) => new URL(request.url).pathname);
  });
  expect(stored.filter((path) => path.startsWith("/api"))).toEqual([]);
});

test("a shell of another build is never stored", async ({ page, server, context }) => {
  // A new worker meets a server that still answers with the old shell.
  await context.route("**/shell", async (route) => {
    const answer = await route.fetch();
    await route.fulfill({ response: answer, headers: { ...answer.headers(), "x-faying-build": "another" } });
  });
  await page.goto(server.url);
  await ready(page);
  const outcome = await page.evaluate(async () => {
    const registration = await navigator.serviceWorker.register("/sw.js");
    const worker = registration.installing;
    if (!worker) return "no worker was installing";
    return new Promise((resolve) => {
      worker.addEventListener("statechange", () => resolve(worker.state));
    });
  });
  expect(outcome).toBe("redundant");
  expect(await storedBuilds(page)).toEqual([]);

  // With the right shell the same device gets the app after all.
  await context.unroute("**/shell");
  await page.reload();
  await ready(page);
  await offlineReady(page);
  expect(await storedBuilds(page)).toHaveLength(1);
});

test("when the app cannot start, the page says what to do and can be mended", async ({ page, server, context }) => {
  await context.route("**/pkg/app-*/app_bg.wasm", (route) => route.fulfill({ status: 503, body: "out of order" }));
  await page.goto(server.url);
  const problem = page.locator("#boot-problem");
  await expect(problem).toContainText("could not start");
  await expect(problem).toContainText("still here");

  await context.unroute("**/pkg/app-*/app_bg.wasm");
  await problem.getByRole("button", { name: "Fetch the app again" }).click();
  await ready(page);
  await expect(problem).toBeHidden();
});
