import { chromium as playwright } from "playwright-core";
import { mkdir } from "node:fs/promises";
import { browserArguments, chromium, phone } from "./support/browser.mjs";
import { prepare, screens, screensOfKinds } from "./support/screens.mjs";
const url = process.env.FAYING_URL, pattern = new RegExp(process.env.WHICH), folder = "/tmp/shots";
const SIZES = { phone, tablet: { ...phone, viewport: { width: 820, height: 1180 } }, desk: { viewport: { width: 1440, height: 900 } } };
const kinds = await screensOfKinds(url, "mechanic");
const browser = await playwright.launch({ executablePath: chromium, args: browserArguments });
for (const [size, device] of Object.entries(SIZES)) for (const colorScheme of ["light", "dark"]) {
  const into = `${folder}/${size}-${colorScheme}`;
  await mkdir(into, { recursive: true });
  const context = await browser.newContext({ ...device, colorScheme, baseURL: url, reducedMotion: "reduce" });
  const page = await context.newPage();
  await page.goto("/");
  await prepare(page, "mechanic");
  for (const { name, show } of [...screens, ...kinds].filter((it) => pattern.test(it.name))) {
    try { await show(page); await page.screenshot({ path: `${into}/${name}.png`, fullPage: true, animations: "disabled" }); console.log(size, colorScheme, name); } catch (error) { console.log("FAILED", size, colorScheme, name, String(error).slice(0, 200)); }
  }
  await context.close();
}
await browser.close();
