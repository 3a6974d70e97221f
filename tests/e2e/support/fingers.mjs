// What Playwright's touchscreen can't: more than one finger.

/** Two fingers around the middle of something, or around a place of it (shares of its sides), spread by a factor. */
export async function pinch(page, locator, factor, [across, down] = [0.5, 0.5]) {
  const frame = await locator.boundingBox();
  const middle = { x: frame.x + frame.width * across, y: frame.y + frame.height * down };
  const session = await page.context().newCDPSession(page);
  const fingers = (spread) => [
    { id: 1, x: middle.x - spread, y: middle.y },
    { id: 2, x: middle.x + spread, y: middle.y },
  ];
  const touch = (type, touchPoints) => session.send("Input.dispatchTouchEvent", { type, touchPoints });
  await touch("touchStart", fingers(40));
  for (let step = 1; step <= 8; step++) await touch("touchMove", fingers(40 * (1 + ((factor - 1) * step) / 8)));
  await touch("touchEnd", []);
  await session.detach();
}
