// How the browser tests run: against the built product, in Debian's Chromium,
// as a phone and as a desk. `cargo xtask test` sets the environment.

import { defineConfig } from "@playwright/test";
import { browserArguments, chromium, desk, phone } from "./support/browser.mjs";

const output = process.env.PLAYWRIGHT_OUTPUT ?? "test-results";
const benches = Boolean(process.env.BENCHES);

export default defineConfig({
  testDir: ".",
  testMatch: benches ? "benches/*.bench.mjs" : "tests/**/*.spec.mjs",
  outputDir: `${output}/traces`,
  // Two cores; a bench wants the machine for itself.
  workers: benches ? 1 : 2,
  fullyParallel: false,
  // A test that passes the second time is broken.
  retries: 0,
  forbidOnly: Boolean(process.env.CI),
  // A whole flow of two people takes a minute on two cores; a hang is told from it by the waits inside.
  timeout: 180_000,
  expect: { timeout: 10_000 },
  reporter: [["list"], ...(process.env.PLAYWRIGHT_JSON_OUTPUT_NAME ? [["json"]] : [])],
  use: {
    launchOptions: { executablePath: chromium, args: browserArguments },
    trace: "retain-on-failure",
    screenshot: "only-on-failure",
  },
  projects: [
    // Tests with two people open their own devices, tests of the server open none: one project runs them.
    { name: "phone", use: phone, testIgnore: ["tests/pair/**", "tests/server/**"] },
    { name: "desk", use: desk },
  ],
});
