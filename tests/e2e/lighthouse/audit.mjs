// Lighthouse's mobile audit of the built product, with thresholds.
// Run by `cargo xtask lighthouse`, which sets FAYING_URL and CHROMIUM.

import * as chromeLauncher from "chrome-launcher";
import lighthouse from "lighthouse";
import { browserArguments, chromium } from "../support/browser.mjs";

const MINIMUM = { performance: 90, accessibility: 100, "best-practices": 100 };
const PATHS = ["/", "/sign-in"];

const chrome = await chromeLauncher.launch({
  chromePath: chromium,
  chromeFlags: ["--headless=new", ...browserArguments],
  logLevel: "error",
});
let failed = false;
try {
  for (const path of PATHS) failed = (await audit(path)) || failed;
} finally {
  chrome.kill();
}
process.exitCode = failed ? 1 : 0;

/** Audits one page, prints its scores, answers whether one is too low. */
async function audit(path) {
  const { lhr } = await lighthouse(new URL(path, process.env.FAYING_URL).href, {
    port: chrome.port,
    onlyCategories: Object.keys(MINIMUM),
    logLevel: "error",
  });
  if (lhr.runtimeError) throw new Error(`${path}: ${lhr.runtimeError.message}`);
  let tooLow = false;
  for (const [category, minimum] of Object.entries(MINIMUM)) {
    const score = Math.round(lhr.categories[category].score * 100);
    const verdict = score >= minimum ? "good" : "TOO LOW";
    console.log(`${path} ${category}: ${score} (at least ${minimum}) ${verdict}`);
    if (score < minimum) {
      tooLow = true;
      explain(lhr, category);
    }
  }
  const figures = ["first-contentful-paint", "largest-contentful-paint", "total-blocking-time", "cumulative-layout-shift"];
  console.log(`${path} ${figures.map((id) => `${lhr.audits[id].title} ${lhr.audits[id].displayValue}`).join(", ")}`);
  return tooLow;
}

/** Which checks of a category cost points. */
function explain(lhr, category) {
  for (const { id, weight } of lhr.categories[category].auditRefs) {
    const { score, title, displayValue = "" } = lhr.audits[id];
    if (weight > 0 && score !== null && score < 1) console.log(`    ${title} ${displayValue}`);
  }
}
