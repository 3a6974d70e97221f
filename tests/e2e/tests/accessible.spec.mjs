// Every screen, checked by axe against WCAG 2.2 A and AA, light and dark.

import { ready } from "../support/app.mjs";
import { faults } from "../support/axe.mjs";
import { prepare, screens, screensOfLead } from "../support/screens.mjs";
import { test, expect } from "../support/server.mjs";

test("no screen breaks an accessibility rule", async ({ page, browser, freshServer }) => {
  test.setTimeout(480_000);
  const server = await freshServer({ demo: true });
  await page.goto(`${server.url}/sign-in`);
  await ready(page);
  const found = [...(await broken(page, "sign-in"))];
  await prepare(page);
  for (const { name, show } of screens) {
    await show(within(page, server.url));
    found.push(...(await broken(page, name)));
  }
  await page.emulateMedia({ colorScheme: "dark" });
  found.push(...(await broken(page, "dark")));

  const office = await browser.newContext();
  const lead = await office.newPage();
  await lead.goto(`${server.url}/sign-in`);
  await prepare(lead, "lead");
  for (const { name, show } of screensOfLead) {
    await show(within(lead, server.url));
    found.push(...(await broken(lead, name)));
  }
  await office.close();
  expect(found).toEqual([]);
});

/** The page, with addresses relative to the server. */
function within(page, url) {
  return new Proxy(page, {
    get(target, name) {
      if (name === "goto") return (path) => target.goto(new URL(path, url).href);
      const value = target[name];
      return typeof value === "function" ? value.bind(target) : value;
    },
  });
}

async function broken(page, screen) {
  // A field half under a sheet's foot is one scroll away from being whole.
  await page.evaluate(() => document.querySelector("dialog[open]")?.scrollTo(0, 1e6));
  return (await faults(page)).map((fault) => `${screen}: ${fault}`);
}
