// Pictures of every screen at three sizes, light and dark, of a running demo.
// Run by `cargo xtask screenshots`, which sets FAYING_URL, CHROMIUM and SCREENSHOTS.

import { chromium as playwright } from "playwright-core";
import { mkdir } from "node:fs/promises";
import { join } from "node:path";
import { browserArguments, chromium, phone } from "./support/browser.mjs";
import { outside, prepare, screens, screensOfKinds, screensOfLead } from "./support/screens.mjs";
import { inspected } from "./support/screens_inspect.mjs";

const url = process.env.FAYING_URL;
const folder = process.env.SCREENSHOTS;
const SIZES = {
  phone: phone,
  tablet: { ...phone, viewport: { width: 820, height: 1180 } },
  desk: { viewport: { width: 1440, height: 900 } },
};

// Names of screens to take, where it shall not be all of them.
const wanted = new Set((process.env.SCREENS ?? "").split(",").filter(Boolean));

const browser = await playwright.launch({ executablePath: chromium, args: browserArguments });
try {
  const kinds = await screensOfKinds(url, "mechanic");
  const review = await inspected(browser, url);
  const people = [
    { login: "mechanic", before: outside, after: [...screens, ...kinds] },
    { login: "lead", before: [], after: [...screensOfLead, ...review.lead] },
    { login: "inspector", before: [], after: review.inspector },
    { login: review.guest, before: [], after: review.visitor },
  ];
  for (const [size, device] of Object.entries(SIZES)) {
    for (const colorScheme of ["light", "dark"]) await take(size, device, colorScheme, people);
  }
} finally {
  await browser.close();
}

async function take(size, device, colorScheme, people) {
  const into = join(folder, `${size}-${colorScheme}`);
  await mkdir(into, { recursive: true });
  const taken = ({ name }) => wanted.size === 0 || wanted.has(name);
  for (const { login, before, after } of people) {
    const [first, then] = [before.filter(taken), after.filter(taken)];
    if (first.length + then.length > 0) await as(login, first, then);
  }

  /** Pictures before and after signing in, on a device of the person's own. */
  async function as(login, before, after) {
    const context = await browser.newContext({ ...device, colorScheme, baseURL: url, reducedMotion: "reduce" });
    context.setDefaultTimeout(120_000);
    const page = await context.newPage();
    await page.goto("/");
    for (const screen of before) await picture(page, screen);
    await prepare(page, login);
    for (const screen of after) await picture(page, screen);
    await context.close();
  }

  async function picture(page, { name, show }) {
    await show(page);
    // A sheet covers what is in view, and nothing of the page that is longer.
    const fullPage = (await page.locator("dialog[open]").count()) === 0;
    await page.screenshot({ path: join(into, `${name}.png`), fullPage, animations: "disabled" });
    console.log(`${size}-${colorScheme}/${name}.png`);
  }
}
