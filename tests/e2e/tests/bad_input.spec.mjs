// What a person can type or choose that cannot be taken: the screen says which field, why
// and what is accepted; what else was typed stays, and what could be saved is saved.

import { mkdtemp, open as openFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { signIn } from "../support/people.mjs";
import { photoFiles } from "../support/photos.mjs";
import { expect, test } from "../support/server.mjs";
import { openFirstStep, openJob } from "../support/work.mjs";

const JOB = {
  title: "Entered wrongly first",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Four rivets on the left side smear.",
  template: "Replacement of working rivets",
};
const TOO_LARGE = 300 * 1024 * 1024;

test("what can't be taken is said beside its field, and the rest stays", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  const faults = [];
  page.on("pageerror", (error) => faults.push(error.message));
  await signIn(page, server.url, "mechanic");
  await context.setOffline(true);

  await page.getByRole("link", { name: "New job" }).first().click();
  await page.getByLabel("The job in one line").fill(JOB.title);
  await page.getByLabel("Registration", { exact: true }).fill("ZZ-🛩️");
  await page.getByLabel("Part", { exact: true }).fill(JOB.part);
  await page.getByRole("radio", { name: JOB.template }).check();
  await page.getByRole("button", { name: "Open the job" }).click();
  await expect(page.getByText(/letters A-Z, digits and hyphens/).first()).toBeVisible();
  await expect(page.getByLabel("Registration", { exact: true })).toHaveAttribute("aria-invalid", "true");
  await expect(page.getByLabel("Part", { exact: true })).toHaveValue(JOB.part);
  await expect(page.getByLabel("The job in one line")).toHaveValue(JOB.title);
  await page.goto(`${server.url}/jobs`);

  await openJob(page, JOB);
  await openFirstStep(page);
  await page.locator("section.section", { has: page.getByRole("heading", { name: "Hardware", exact: true }) })
    .getByRole("button", { name: "Add" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Part number", { exact: true }).fill("x".repeat(300));
  await sheet.getByLabel("Batch or lot", { exact: true }).fill("R-5521");
  await sheet.getByLabel("Last day of use", { exact: true }).fill("9999-01-01");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet.getByText(/1950.*2150/).first()).toBeVisible();
  await expect(sheet.getByText(/200/).first()).toBeVisible();
  await expect(sheet.getByLabel("Batch or lot", { exact: true })).toHaveValue("R-5521");
  await sheet.getByLabel("Part number", { exact: true }).fill("MS20470AD4-5");
  await sheet.getByLabel("Last day of use", { exact: true }).fill("2030-01-01");
  await sheet.getByRole("button", { name: "Save" }).click();
  await expect(sheet).toBeHidden();
  await expect(page.getByText("MS20470AD4-5")).toBeVisible();
  expect(faults).toEqual([]);
});

test("files that are no photos are refused with the reason, and the photo among them is kept", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  const faults = [];
  page.on("pageerror", (error) => faults.push(error.message));
  const folder = await mkdtemp(join(tmpdir(), "faying-no-photos-"));
  const photos = await photoFiles(1);
  try {
    await signIn(page, server.url, "mechanic");
    await context.setOffline(true);
    await openJob(page, JOB);
    await openFirstStep(page);

    const [text, empty, large] = ["text.jpg", "empty.jpg", "large.jpg"].map((name) => join(folder, name));
    await writeFile(text, "the rivets smear\n".repeat(1000));
    await writeFile(empty, "");
    await sparse(large, TOO_LARGE);
    await page.locator(".dock input[type=file]").setInputFiles([text, large, photos.files[0], empty]);

    await expect(page.getByText("this is not a photo; JPEG, PNG, WebP and HEIC are taken")).toBeVisible();
    await expect(page.getByText(`this photo has ${TOO_LARGE} bytes`, { exact: false })).toBeVisible();
    await expect(page.getByText("this file is empty")).toBeVisible();
    await expect(page.locator(".step-page .photo:not([data-saving]) img")).toHaveCount(1);

    await page.reload();
    await expect(page.locator(".step-page .photo img")).toHaveCount(1);
    expect(faults).toEqual([]);
  } finally {
    await photos.remove();
    await rm(folder, { recursive: true });
  }
});

/** A file of so many bytes that takes no room. */
async function sparse(path, bytes) {
  const file = await openFile(path, "w");
  await file.truncate(bytes);
  await file.close();
}
