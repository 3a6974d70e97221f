// Every screen of the app with the way to it, for the pictures and for the
// accessibility checks. `show` leaves the page settled on the screen.

import { ready } from "./app.mjs";

/** What must be done once before the screens can be shown. */
export async function prepare() {}

/** @type {{ name: string, show: (page: import("playwright-core").Page) => Promise<void> }[]} */
export const screens = [at("sign-in", "/sign-in"), at("jobs", "/jobs"), at("sync", "/sync"), at("team", "/team")];

/** A screen that an address leads to. */
export function at(name, path) {
  return {
    name,
    show: async (page) => {
      await page.goto(path);
      await ready(page);
    },
  };
}
