// Work that has not reached the server yet, while what is under it changes: the
// server or the tab is killed in the middle of a photo, a new release comes out.

import { createHash } from "node:crypto";
import { readFile, readdir } from "node:fs/promises";
import { join } from "node:path";
import { killTab, ready } from "../support/app.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { largePhoto, photoFiles } from "../support/photos.mjs";
import { laterRelease } from "../support/release.mjs";
import { expect, test } from "../support/server.mjs";
import { openStep, photograph } from "../support/work.mjs";

test.describe.configure({ timeout: 150_000 });

const JOB = "Re-glass the torn attach flange";
const STEP = "Trial fit with pins";

test("an interrupted upload goes on where it broke off", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await openStep(page, JOB, STEP);
  const photo = await largePhoto(1_500_000);
  const announced = [];
  const offsets = [];
  await context.route("**/api/v1/photos**", async (route) => {
    const request = route.request();
    if (request.method() === "POST") announced.push(request.url());
    if (request.method() === "PATCH") {
      offsets.push(Number(request.headers()["upload-offset"]));
      // As the second part is on its way, the power goes.
      if (offsets.length === 2) {
        await server.kill9();
        return route.abort("connectionreset");
      }
    }
    return route.continue();
  });

  await photograph(page, [photo.file]);
  await expect.poll(() => offsets.length, { timeout: 30_000 }).toBe(2);
  await expect(page.locator(".sync-line")).not.toHaveAttribute("data-state", "calm");
  await server.start();
  await expect.poll(() => offsets.length, { timeout: 60_000 }).toBeGreaterThan(2);
  await page.locator(".sync-line[data-state=calm]").waitFor({ timeout: 60_000 });

  expect(announced).toHaveLength(1);
  expect(offsets[0]).toBe(0);
  expect(offsets[2], "what had arrived is not sent again").toBe(offsets[1]);
  expect(await stored(server, photo.digest), "the photo is whole").toBe(true);
  await photo.remove();
});

test("a tab killed in the middle of an upload goes on where it broke off", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await openStep(page, JOB, STEP);
  const photo = await largePhoto(1_500_000);
  const before = await page.locator(".step-page .photo").count();
  const announced = [];
  const offsets = [];
  let killed;
  await context.route("**/api/v1/photos**", async (route) => {
    const request = route.request();
    if (request.method() === "POST") announced.push(request.url());
    if (request.method() === "PATCH") {
      offsets.push(Number(request.headers()["upload-offset"]));
      // The second part never leaves: its tab is killed.
      if (offsets.length === 2) {
        killed = killTab(page);
        return;
      }
    }
    return route.continue();
  });
  const address = page.url();
  await photograph(page, [photo.file]);
  await expect.poll(() => offsets.length, { timeout: 30_000 }).toBe(2);
  await killed;

  const again = await context.newPage();
  await again.goto(address);
  await ready(again);
  await expect(again.locator(".step-page .photo")).toHaveCount(before + 1);
  await expect.poll(() => offsets.length, { timeout: 60_000 }).toBeGreaterThan(2);
  await again.locator(".sync-line[data-state=calm]").waitFor({ timeout: 60_000 });
  expect(announced).toHaveLength(1);
  expect(offsets[2], "what had arrived is not sent again").toBe(offsets[1]);
  expect(await stored(server, photo.digest), "the photo is whole").toBe(true);
  await photo.remove();
});

test("a new release takes over with work that is not sent yet", async ({ page, context, freshServer }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await openStep(page, JOB, STEP);
  await allSent(page);
  const photos = await photoFiles(1);
  // The site can be reached, the rest of the server can't.
  await context.route("**/api/**", (route) => route.abort("connectionrefused"));
  const before = await page.locator(".step-page .photo").count();
  await photograph(page, photos.files);

  const release = await laterRelease();
  await server.stop();
  server.useSite(release.site);
  await server.start();
  await page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).update());
  await page.getByRole("button", { name: "Reload" }).click();
  await expect(page.locator("html")).toHaveAttribute("data-build", release.build);
  await ready(page);
  await expect(page.locator(".step-page .photo")).toHaveCount(before + 1);
  await expect(page.locator(".sync-line")).not.toHaveAttribute("data-state", "calm");

  await context.unroute("**/api/**");
  await page.locator(".sync-line[data-state=calm]").waitFor({ timeout: 60_000 });
  const digest = createHash("sha256").update(await readFile(photos.files[0])).digest("hex");
  expect(await stored(server, digest)).toBe(true);
  await release.remove();
  await photos.remove();
});

/** Whether the server's photo folder holds these very bytes. */
async function stored(server, digest) {
  const files = await readdir(join(server.folder, "photos"), { recursive: true, withFileTypes: true });
  for (const file of files.filter((entry) => entry.isFile() && entry.name.includes(digest.slice(4, 16)))) {
    const content = await readFile(join(file.parentPath, file.name));
    if (createHash("sha256").update(content).digest("hex") === digest) return true;
  }
  return false;
}
