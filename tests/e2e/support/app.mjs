// Waiting for the app itself, as a person would.

/** Until the screens answer to the hand. */
export async function ready(page) {
  await page.waitForSelector("html[data-ready]", { state: "attached" });
}

/** Until the app is stored on the device and works without a network. */
export async function offlineReady(page) {
  await page.waitForFunction(() => navigator.serviceWorker.controller?.state === "activated");
}

/** Opens an address of the app and waits until it can be used, online or not. */
export async function open(page, address) {
  await page.goto(address);
  await ready(page);
  await offlineReady(page);
}

/** The names of the builds stored on this device. */
export function storedBuilds(page) {
  return page.evaluate(() => caches.keys());
}

/** Kills a tab's process, as a phone does that runs out of memory: nothing in the page gets a last word. */
export async function killTab(page) {
  const session = await page.context().newCDPSession(page);
  const crashed = page.waitForEvent("crash");
  // Never answered: whoever should answer is gone.
  session.send("Page.crash").catch(() => undefined);
  await crashed;
  await page.close();
}
