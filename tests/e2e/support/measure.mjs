// Marking on a photo, as a person does: a tap, and arrow keys to the very place.

import { expect } from "@playwright/test";
import { pinch } from "./fingers.mjs";
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
  const { x, y, pixel } = await aim(page, at);
  await page.touchscreen.tap(x, y).catch(() => page.mouse.click(x, y));
  return pixel;
}

/** Marks a point after going closer to it, with two fingers or the wheel: it stays where it was on the screen. */
export async function nearer(page, at, hasTouch) {
  const { x, y, share } = await aim(page, at);
  const pane = page.locator(".board--photo");
  if (hasTouch) {
    await pinch(page, pane, 3, share);
    await page.touchscreen.tap(x, y);
  } else {
    await page.mouse.move(x, y);
    for (let turn = 0; turn < 4; turn++) await page.mouse.wheel(0, -240);
    await page.mouse.click(x, y);
  }
}

/** Shows the whole photo; where on the screen a point of it is, and which pixel is hit there. */
async function aim(page, at) {
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
  const pixel = {
    x: ((x - frame.x) / unit - margin.x) / scale,
    y: ((y - frame.y) / unit - margin.y) / scale,
  };
  return { x, y, pixel, share: [(x - frame.x) / frame.width, (y - frame.y) / frame.height] };
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
