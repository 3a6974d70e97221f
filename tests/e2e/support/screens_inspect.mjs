// The inspector's screens with the way to them, for the pictures: a step that was sent back and offered again,
// as the shop's inspector sees it and as a guest does.

import { readFile } from "node:fs/promises";
import { Desk, uuid } from "./desk.mjs";
import { allSent, signIn } from "./people.mjs";
import { photoFiles } from "./photos.mjs";
import { settled } from "./screens.mjs";
import { send, sha256, signInByHttp } from "./tus.mjs";

/** A step of the demo that waits, beside a hole register and a layup. */
const WAITING = "Deburr and clean the holes";
const RETURNED = "Re-drill the row at the rear edge";
const ACROSS = "Hole 3 is still oval, across the row.";
const SWARF = "There is swarf under the flange, left of this head.";

/**
 * Opens a job of which a step was sent back with findings, answered, and offered again.
 * @returns its inspector's screens, those of the shop's lead, and those of a guest with their sign-in name
 */
export async function inspected(browser, url) {
  const lead = await Desk.signIn(url, "lead");
  const mechanic = await Desk.signIn(url, "mechanic");
  const photos = await photoFiles(5);
  const bytes = await Promise.all(photos.files.map((file) => readFile(file)));
  await photos.remove();
  const digests = bytes.map(sha256);
  const [step, joint, holes] = [uuid(), uuid(), Array.from({ length: 6 }, uuid)];
  const job = await mechanic.openJob(offered(step, joint, holes, digests));
  const sender = await signInByHttp({ url }, "mechanic");
  const log = `shop:${mechanic.shop}/job:${job}`;
  for (const photo of bytes) await send(sender, photo, { log, chunkSize: photo.length });

  const place = `${mechanic.shop}/${job}`;
  const review = `/inspect/${place}/${step}`;
  await sentBack(browser, `${url}${review}`);
  const again = await Desk.signIn(url, "mechanic");
  const state = await again.get(`shops/${mechanic.shop}/jobs/${job}/changes?since=0`);
  const told = state.changes.map(({ change }) => JSON.parse(change.text).body);
  const swarf = told.find((body) => body.kind === "finding.v1" && body.set.text === SWARF);
  await again.changeJob(job, answered(step, holes, digests, swarf.id));
  const guest = `guest.${job.slice(-6)}`;
  await lead.letGuestIn(job, guest, "Guest inspector");
  return { guest, ...screens(place, review) };
}

/** The job's changes up to its first offer. */
function offered(step, joint, holes, digests) {
  const of = (kind, set) => ({ kind, id: uuid(), step, set });
  const photo = (at, moment, caption) =>
    of("photo.v1", { digest: digests[at], media_type: "image/jpeg", moment, caption, width: 800, height: 600, taken_at: Date.now() });
  return [
    { kind: "job.v1", set: { title: "Working rivets, tail-cone fairing", registration: "ZZ-FAY", part: "Tail-cone fairing", discrepancy: "Four rivets smear." } },
    { kind: "step.v1", id: step, set: { title: RETURNED, instruction: "Drill up one size, deburr both sides, clean. Measure along and across.", order: "80", hold_point: true, started_at: Date.now() } },
    { kind: "joint.v1", id: joint, set: { name: "Rear edge", edges: [[{ x: "0 in", y: "0 in" }, { x: "5 in", y: "0 in" }]], diameter: "5/32 in" } },
    ...holes.map((id, at) => (
      { kind: "hole.v1", id, set: { joint, number: `${at + 1}`, x: `${0.5 + at * 0.75} in`, y: "0.4 in", found: at === 2 ? "elongated" : "tight", action: at === 2 ? "up-a-size" : "keep" } }
    )),
    photo(0, "before", "Rear edge, smeared heads"),
    photo(1, "before", "Under the flange"),
    photo(2, "after", "Holes drilled, from above"),
    ...[["Hole 3, along", "0.160"], ["Hole 3, across", "0.167"], ["Hole 4, along", "0.161"]].map(([label, value]) =>
      of("reading.v1", { label, value, unit: "in", minimum: "0.159", maximum: "0.164", limit_source: "job card" })),
    of("hardware.v1", { part_number: "MS20470AD5-6", quantity: 6, batch: "R-10470" }),
    of("note.v1", { text: "Nothing moves under the thumb." }),
    of("offer.v1", { note: "Both sides looked at." }),
  ];
}

/** What is done about the findings. */
function answered(step, holes, digests, finding) {
  const of = (kind, set) => ({ kind, id: uuid(), step, set });
  const photo = { media_type: "image/jpeg", moment: "after", width: 800, height: 600, taken_at: Date.now() };
  return [
    { kind: "hole.v1", id: holes[2], set: { size: "0.162 in", largest: "0.163 in", result: "pass" } },
    { kind: "hole.v1", id: holes[3], set: { result: "pass" } },
    of("reading.v1", { label: "Hole 3, across, reamed", value: "0.163", unit: "in", minimum: "0.159", maximum: "0.164" }),
    of("photo.v1", { ...photo, digest: digests[3], caption: "Swarf is out", answers: finding }),
    { kind: "finding.v1", id: finding, step, set: { answer: "Blown out and wiped." } },
    of("offer.v1", { note: "Reamed; swarf is out." }),
  ];
}

/** Sends the step back, as an inspector does. */
async function sentBack(browser, review) {
  const context = await browser.newContext();
  // A machine that takes pictures of everything is a busy one.
  context.setDefaultTimeout(120_000);
  const page = await context.newPage();
  await signIn(page, new URL(review).origin, "inspector");
  await allSent(page);
  await page.goto(review);
  await returning(page);
  await page.locator("dialog[open]").getByRole("button", { name: "Return the step" }).click();
  await page.waitForURL("**/inspect");
  await allSent(page);
  await context.close();
}

/** Opens the sheet of a return and writes two findings: on a hole, and on a place of a photo. */
async function returning(page) {
  await settled(page);
  await page.getByRole("button", { name: "Return with findings" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("Finding 1", { exact: true }).fill(ACROSS);
  await sheet.getByLabel("Finding 1 points to").selectOption({ label: "Hole 3 of Rear edge" });
  await sheet.getByRole("button", { name: "Another finding" }).click();
  await sheet.getByLabel("Finding 2", { exact: true }).fill(SWARF);
  const points = sheet.getByLabel("Finding 2 points to");
  await points.selectOption(await points.locator("option", { hasText: "Under the flange" }).getAttribute("value"));
  const photo = sheet.getByRole("group", { name: /Where on the photo/ });
  await photo.locator("img").waitFor();
  const box = await photo.boundingBox();
  await photo.click({ position: { x: box.width * 0.4, y: box.height * 0.45 } });
}

function screens(place, review) {
  const go = async (page, path) => {
    await page.goto(path);
    await settled(page);
  };
  const show = (path, then) => async (page) => {
    await go(page, path);
    await then?.(page);
  };
  const card = async (page, title) => {
    await page.locator("main a.card", { hasText: title }).first().click();
    await page.waitForURL("**/inspect/*/*/*");
    await settled(page);
    await page.locator(".pattern").first().waitFor();
  };
  const photo = async (page) => {
    await page.locator("main .photos .photo button").first().click();
    await page.getByText("Full resolution.").waitFor();
  };
  const sheet = (button) => async (page) => {
    await page.getByRole("button", { name: button, exact: true }).click();
    await page.locator("dialog[open]").waitFor();
    await settled(page);
  };
  const choosing = async (page) => {
    await page.getByRole("link", { name: "Record", exact: true }).first().click();
    await page.waitForURL("**/record/*/*");
    await sheet("Choose photos")(page);
  };
  const whole = (page) => page.getByLabel("Show only what changed").uncheck();
  return {
    inspector: [
      { name: "inspector-queue", show: show("/inspect") },
      { name: "inspector-step", show: show("/inspect", (page) => card(page, WAITING)) },
      { name: "inspector-since", show: show(review) },
      { name: "inspector-since-whole", show: show(review, whole) },
      { name: "inspector-return", show: show(review, returning) },
      { name: "inspector-photo", show: show(review, photo) },
    ],
    lead: [
      { name: "sign", show: show(`/jobs/${place}`, sheet("Sign")) },
      { name: "record-choose-photos", show: show(`/jobs/${place}`, choosing) },
    ],
    visitor: [
      { name: "guest-jobs", show: show("/jobs") },
      { name: "guest-queue", show: show("/inspect") },
      { name: "guest-step", show: show(review) },
    ],
  };
}
