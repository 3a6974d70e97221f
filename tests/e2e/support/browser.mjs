// The browser and the devices that we test on.

export const chromium = process.env.CHROMIUM ?? "/usr/bin/chromium";

// Quiet, and able to run as root in a container.
export const browserArguments = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

/** A phone held upright. */
export const phone = {
  viewport: { width: 390, height: 844 },
  deviceScaleFactor: 2,
  isMobile: true,
  hasTouch: true,
  userAgent:
    "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/150.0.0.0 Mobile Safari/537.36",
};

/** A desk with a mouse. */
export const desk = { viewport: { width: 1440, height: 900 } };
