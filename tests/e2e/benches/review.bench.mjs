// An inspector at a desk: forty steps with two hundred photos wait. From the tap on the navigation until the
// queue is painted, and from the tap on a step until its readings are, the two photos to compare, decoded, and the
// others' places.

import { ready } from "../support/app.mjs";
import { uuid } from "../support/desk.mjs";
import { openWithPhotos } from "../support/long_job.mjs";
import { allSent, signIn } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";
import { offer } from "../support/work.mjs";
import { RUNS, painted, report, slow, unwatched } from "./measure.mjs";

const STEPS = 40;
const PHOTOS = 200;
const BUDGET_MS = 300;
/** The last of them in the queue. */
const LAST_WAITING = `main li:nth-child(${STEPS}) a.card[href*='/inspect/']`;
/** What a step's review is made of. */
const STEP = [
  "main .table[aria-label='Readings'] tbody tr:nth-child(5)",
  "main .compare > svg > svg > image",
  "main .photos .photo",
];
/** The two photos under the slider: they are to be seen, and not only their place. */
const COMPARED = "main .compare > svg image";

test.use(unwatched);
test.describe.configure({ timeout: 600_000 });
test.skip(({ isMobile }) => isMobile, "a desk's bench");

test("a step of 40 with 200 photos opened for review", async ({ context, browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const job = await offered(server, browser);

  const page = await context.newPage();
  await signIn(page, server.url, "inspector");
  await allSent(page);
  const [queues, steps] = [[], []];
  await page.goto(`${server.url}/jobs`);
  await ready(page);
  await page.waitForTimeout(2_500);
  const devtools = await slow(page);
  for (let run = 0; run < RUNS; run++) {
    const inspection = page.locator("a[href='/inspect']:visible").first();
    queues.push(await painted(page, [LAST_WAITING], () => inspection.click()));
    const card = page.locator(`main a.card[href*='${job}']`).nth(run);
    steps.push(await painted(page, STEP, () => card.click(), COMPARED));
    await expect(page.getByRole("button", { name: "Accept", exact: true })).toBeVisible();
    await page.goto(`${server.url}/jobs`);
    await ready(page);
    await page.waitForTimeout(2_500);
  }
  await devtools.detach();
  report("what waits, 40 steps, painted", queues, BUDGET_MS);
  report("a step with 5 of 200 photos opened for review, painted", steps, BUDGET_MS);
});

/** A job of which every step is offered; its id. */
async function offered(server, browser) {
  const steps = Array.from({ length: STEPS }, () => uuid());
  const { shop, job } = await openWithPhotos(server, "lead", PHOTOS, (digests) => bodies(steps, digests));
  const hangar = await browser.newContext();
  const mechanic = await hangar.newPage();
  await signIn(mechanic, server.url, "mechanic");
  await allSent(mechanic);
  for (const step of steps) {
    await mechanic.goto(`${server.url}/jobs/${shop}/${job}/steps/${step}`);
    await ready(mechanic);
    await offer(mechanic, "Both sides looked at.");
  }
  await allSent(mechanic);
  await hangar.close();
  return job;
}

/** The job's changes: per step five photos, ten readings, three notes, a line of hardware. */
function bodies(steps, digests) {
  const now = Date.now();
  const of = (kind, step, set) => ({ kind, id: uuid(), step, set });
  const moments = ["before", "during", "during", "after", "after"];
  return [
    { kind: "job.v1", set: { title: "Weeks of work", registration: "ZZ-FAY", part: "Wing-tip fairing", discrepancy: "Torn flange." } },
    ...steps.map((id, place) => ({
      kind: "step.v1",
      id,
      set: { title: `Row ${place + 1}: take the rivets out`, instruction: "Drill, drift, look.", order: `${(0x81 + place).toString(16)}80`, started_at: now },
    })),
    ...digests.map((digest, number) => {
      const set = { digest, media_type: "image/jpeg", moment: moments[number % 5], caption: `hole ${number}` };
      return of("photo.v1", steps[Math.floor(number / 5)], set);
    }),
    ...steps.flatMap((step) => [
      ...Array.from({ length: 10 }, (_, hole) =>
        of("reading.v1", step, { label: `Hole ${hole + 1}`, value: hole === 6 ? "0.136" : "0.129", unit: "in", minimum: "0.128", maximum: "0.132" })),
      ...Array.from({ length: 3 }, (_, at) => of("note.v1", step, { text: `Nothing moves under the thumb, place ${at + 1}.` })),
      of("hardware.v1", step, { part_number: "MS20470AD4-5", quantity: 10, batch: "R-10470" }),
    ]),
  ];
}
