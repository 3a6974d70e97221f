// What the browser's benches share: a slow phone, the middle of several runs,
// and one line that says how long it took.

import { loadavg } from "node:os";
import { expect } from "@playwright/test";

/** How often everything is measured. */
export const RUNS = 5;

/** A phone's processor is about so many times slower than ours. */
const SLOWER = 4;

/**
 * For `test.use`: recording traces, pictures or films would be measured too.
 */
export const unwatched = { trace: "off", screenshot: "off", video: "off" };

/** Makes a page's main thread as slow as a phone's, from now on. */
export async function slow(page) {
  const devtools = await page.context().newCDPSession(page);
  await devtools.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
  return devtools;
}

/** How a page says what it measured. */
const SAYS = "measured ";

/**
 * What a page says by `console.debug("measured " + JSON)` while `action` has its
 * effect. Nobody asks it meanwhile: to answer would cost a slow page time.
 */
export async function measured(page, action) {
  const said = page.waitForEvent("console", (message) => message.text().startsWith(SAYS));
  // Whichever fails first says why.
  const [message] = await Promise.all([said, action()]);
  return JSON.parse(message.text().slice(SAYS.length));
}

/**
 * Milliseconds from the tap until all of these are painted: the page itself looks, so that nobody asks it.
 * @param {string[]} selectors
 * @param {string} [pictures] of what is decoded by then
 */
export async function painted(page, selectors, tap, pictures) {
  await page.evaluate(watch, { selectors, pictures });
  return (await measured(page, tap)).painted;
}

/** In the page: notes the tap, and when all of these are painted after it. */
function watch({ selectors, pictures }) {
  let tapped;
  let said = false;
  addEventListener("click", () => (tapped ??= performance.now()), { capture: true });
  const afterPaint = new MessageChannel();
  const watcher = new MutationObserver(() => {
    const seen = (selector) => document.querySelector(selector)?.getBoundingClientRect().height > 0;
    if (tapped === undefined || !selectors.every(seen)) return;
    const shown = pictures ? [...document.querySelectorAll(pictures)] : [];
    // One that was taken out of the page meanwhile is not waited for: whatever stands in its place comes here too.
    Promise.all(shown.map((picture) => picture.decode())).then(
      () => requestAnimationFrame(() => afterPaint.port2.postMessage("painted")),
      () => undefined,
    );
  });
  afterPaint.port1.onmessage = () => {
    if (said) return;
    said = true;
    watcher.disconnect();
    console.debug(`measured ${JSON.stringify({ painted: performance.now() - tapped })}`);
  };
  watcher.observe(document, { subtree: true, childList: true, attributes: true });
}

/**
 * Prints `name: median X ms (runs a, b, c), budget Y ms`, and with it how busy
 * the machine was: above one or so, others' work was measured too.
 * @param {number[]} runs in milliseconds
 * @param {number} [budget] nothing is expected without one
 */
export function report(name, runs, budget) {
  const median = runs.toSorted((a, b) => a - b)[Math.floor(runs.length / 2)];
  const all = runs.map((run) => Math.round(run)).join(", ");
  const limit = budget === undefined ? "no budget of its own" : `budget ${budget} ms`;
  console.log(`${name}: median ${Math.round(median)} ms (runs ${all}), ${limit}; load ${loadavg()[0].toFixed(2)}`);
  // Soft: the lines after this one are worth reading too.
  if (budget !== undefined) expect.soft(median, `${name}, median of ${runs.length} runs in ms`).toBeLessThan(budget);
}
