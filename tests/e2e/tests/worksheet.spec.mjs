// Any worksheet of the engine, filled in on a phone without a network: its form, a refusal beside
// the field it is about, the preview, the server's result in its place, and the input altered.

import { readFile } from "node:fs/promises";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";
import { openFirstStep, openJob } from "../support/work.mjs";

const JOB = {
  title: "Strength of the new row",
  registration: "ZZ-FAY",
  part: "Tail-cone fairing",
  discrepancy: "Rivets of another alloy are on the shelf.",
  template: "Replacement of working rivets",
};

test("a worksheet of any kind is filled in offline and worked out for the record", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await allSent(page);
  await context.setOffline(true);
  await openJob(page, JOB);
  await openFirstStep(page);

  await page.getByRole("link", { name: "New worksheet" }).click();
  await expect(page.getByRole("heading", { name: "All worksheets for fasteners and joints" })).toBeVisible();
  await page.getByRole("link", { name: /^Rivet strength/ }).click();
  await expect(page.locator("main h1")).toHaveText("Rivet strength");
  await expect(page.getByText("Not enough for a result yet.")).toBeVisible();

  await page.getByLabel("For what").fill("Hole 7, up a size");
  await page.getByLabel("Diameter", { exact: true }).fill("5/32 in");
  const layer = page.getByRole("group", { name: "Layer 1" });
  const thickness = layer.getByLabel("Thickness", { exact: true });
  await thickness.fill("-1 mm");
  await page.getByText("Further, where it is known").last().click();
  await page.getByLabel("Alloy", { exact: true }).selectOption("AD");
  await expect(page.getByText(/is negative/).first()).toBeVisible();
  await expect(page.getByRole("button", { name: "Save the worksheet" })).toBeDisabled();
  await expect(thickness).toHaveValue("-1 mm");
  await thickness.fill("0.032 in");
  await layer.getByText("Further, where it is known").click();
  await layer.getByLabel("Material", { exact: true }).fill("2024-T3");
  await layer.getByLabel("Edge", { exact: true }).fill("0.32 in");
  await expect(page.getByText("Worked out on this device.", { exact: false })).toBeVisible();

  await page.getByRole("button", { name: "Save the worksheet" }).click();
  await page.waitForURL("**/worksheets/*");
  await expect(page.locator("main h1")).toHaveText("Hole 7, up a size");
  await context.setOffline(false);
  await allSent(page);
  await expect(page.getByText("The server's result: the one of record.")).toBeVisible();
  const shear = page.locator(".result", { has: page.getByText("shear", { exact: true }) }).locator(".big");
  const before = await shear.textContent();

  // Altered: what was entered is there again, and the answer is worked out anew.
  await page.getByRole("link", { name: "Alter what was asked" }).click();
  await expect(page.getByLabel("Diameter", { exact: true })).toHaveValue("5/32 in");
  await page.getByLabel("Diameter", { exact: true }).fill("1/8 in");
  await page.getByRole("button", { name: "Save the worksheet" }).click();
  await page.waitForURL("**/worksheets/*");
  await expect(page.getByText("The server's result: the one of record.")).toBeVisible();
  await expect(shear).not.toHaveText(before);
});

test("a drill template is handed over as a file, drawn offline, and as a PDF by the server", async ({ page, freshServer, context }) => {
  const server = await freshServer({ demo: true });
  await signIn(page, server.url, "mechanic");
  await openJob(page, JOB);
  await openFirstStep(page);
  await page.getByRole("link", { name: "New worksheet" }).click();
  await page.getByRole("link", { name: /^Row layout/ }).click();
  for (const [label, value] of Object.entries({ "Edge length": "12 in", "End clearance": "0.375 in", Diameter: "1/8 in", "Pitch target": "0.75 in" })) {
    const field = page.getByLabel(label, { exact: true });
    if (!(await field.isVisible())) await page.getByText("Further, where it is known").first().click();
    await field.fill(value);
  }
  await page.getByRole("button", { name: "Save the worksheet" }).click();
  await page.waitForURL("**/worksheets/*");
  await allSent(page);

  const pdf = await handedOver(page, "PDF to print");
  expect(pdf.subarray(0, 5).toString()).toBe("%PDF-");
  await context.setOffline(true);
  const dxf = await handedOver(page, "DXF");
  expect(dxf.toString()).toContain("$ACADVER");
  const svg = await handedOver(page, "SVG");
  expect(svg.toString()).toMatch(/^<svg [^>]*width="[0-9.]+mm"/);
  await page.getByRole("button", { name: "PDF to print" }).click();
  await expect(page.getByText(/No PDF: no connection to the server/)).toBeVisible();
});

async function handedOver(page, button) {
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: button, exact: true }).click()]);
  return readFile(await download.path());
}
