// A phone without a network opens the app with two hundred jobs on it. Every
// start is cold but for the browser itself: a new page, no other page open, the
// service worker stopped, and so a new process for the page.
//
// From the start of the navigation until, after it was painted,
//   - the list can be used: `html[data-ready]` is there, the first screen's cards are in
//     view, and the search finds every job;
//   - all of it is drawn: the same with a card for every job in it, which nobody can see.

import { signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";
import { RUNS, measured, report, slow, unwatched } from "./measure.mjs";
import { openJobs } from "./many_jobs.mjs";

const JOBS = 200;
const BUDGET_MS = 1000;

test.use(unwatched);
test.describe.configure({ timeout: 300_000 });
test.skip(({ isMobile }) => !isMobile, "a phone's bench");

test("cold start without a network, 200 jobs", async ({ context, freshServer }) => {
  const server = await freshServer({ demo: true });
  await openJobs(server.url, "mechanic", JOBS);
  await fetchAll(context, server.url);
  await context.setOffline(true);

  const starts = [];
  for (let run = 0; run < RUNS; run++) starts.push(await start(context, `${server.url}/jobs`));
  report("cold start, list of 200 jobs usable", starts.map((start) => start.screen), BUDGET_MS);
  report("cold start, the last of 200 cards drawn", starts.map((start) => start.list));
});

/** Signs in and waits until every job is on the phone. */
async function fetchAll(context, url) {
  const page = await context.newPage();
  await signIn(page, url, "mechanic");
  await expect.poll(() => page.locator(".job-card").count(), { timeout: 120_000 }).toBeGreaterThanOrEqual(JOBS);
  await page.locator(".sync-line", { hasText: "all sent" }).waitFor({ timeout: 120_000 });
  await page.close();
}

/** @returns {Promise<{ screen: number, list: number }>} milliseconds since the navigation began */
async function start(context, address) {
  const page = await context.newPage();
  const devtools = await slow(page);
  await devtools.send("ServiceWorker.enable");
  await devtools.send("ServiceWorker.stopAllWorkers");
  await page.addInitScript(watch, JOBS);
  const marks = await measured(page, () => page.goto(address, { waitUntil: "commit" }));
  await page.close();
  return marks;
}

/** In the page, before anything else: notes when the list can be used. */
function watch(jobs) {
  const marks = {};
  const cards = document.getElementsByClassName("job-card");
  const ready = () => document.documentElement?.hasAttribute("data-ready");
  const inView = (card) => {
    const { top, bottom, height } = card.getBoundingClientRect();
    return height > 0 && top < innerHeight && bottom > 0;
  };
  // A frame's callbacks run before it is painted, a message sent from there after it.
  const painted = new MessageChannel();
  painted.port1.onmessage = ({ data: mark }) => {
    if (mark in marks) return;
    marks[mark] = performance.now();
    if (mark === "list") console.debug(`measured ${JSON.stringify(marks)}`);
  };
  const look = () => {
    if (!ready() || cards.length === 0) return;
    requestAnimationFrame(() => {
      if (inView(cards[0])) painted.port2.postMessage("screen");
      if (cards.length >= jobs && inView(cards[0])) painted.port2.postMessage("list");
    });
  };
  const options = { subtree: true, childList: true, attributes: true, attributeFilter: ["data-ready"] };
  new MutationObserver(look).observe(document, options);
}
