// Marking on a photo, as a person does: a tap, and arrow keys to the very place.

import { expect } from "@playwright/test";
import { PHOTO } from "./plate.mjs";

/** The side of the paper on which the photo lies, in its own units. */
const SIDE = 360;

/** Until the photo is there. */
export async function opened(page) {
  await expect(page.locator(".board--photo canvas")).toBeVisible({ timeout: 30_000 });
}

/** Shows a step. */
export async function step(page, name) {
  await page.getByRole("radio", { name, exact: true }).check();
}

/** Taps where a point of the photo is, the whole of it being shown; gives the pixel that was hit. */
export async function tap(page, at) {
  await page.getByRole("button", { name: "Whole" }).click();
  const pane = page.locator(".board--photo");
  await pane.evaluate((board) => board.scrollIntoView({ block: "center" }));
  // What a tap hits is said in whole points of the screen.
  const frame = await pane.boundingBox();
  const unit = frame.width / SIDE;
  const scale = SIDE / Math.max(PHOTO.width, PHOTO.height);
  const margin = { x: (SIDE - PHOTO.width * scale) / 2, y: (SIDE - PHOTO.height * scale) / 2 };
  const x = Math.round(frame.x + (margin.x + at.x * scale) * unit);
  const y = Math.round(frame.y + (margin.y + at.y * scale) * unit);
  await page.touchscreen.tap(x, y).catch(() => page.mouse.click(x, y));
  return {
    x: ((x - frame.x) / unit - margin.x) / scale,
    y: ((y - frame.y) / unit - margin.y) / scale,
  };
}

/** Marks a point of the photo to the pixel. */
export async function mark(page, at) {
  const hit = await tap(page, at);
  await page.locator(".board--photo").focus();
  await press(page, Math.round(at.x - hit.x), "ArrowLeft", "ArrowRight");
  await press(page, Math.round(at.y - hit.y), "ArrowUp", "ArrowDown");
}

async function press(page, by, back, on) {
  for (let pressed = 0; pressed < Math.abs(by); pressed++) await page.keyboard.press(by < 0 ? back : on);
}
