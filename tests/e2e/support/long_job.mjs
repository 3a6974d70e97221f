// A job that was worked on for weeks.

import { readFile } from "node:fs/promises";
import { Desk, uuid } from "./desk.mjs";
import { photoFiles } from "./photos.mjs";
import { send, sha256, signInByHttp } from "./tus.mjs";

const STEPS = 40;

/**
 * The changes of such a job: forty steps, photos of these digests among them, and then notes and
 * readings, every other one altered later.
 */
export function longJob(count, digests = []) {
  const steps = Array.from({ length: STEPS }, () => uuid());
  const step = (number) => steps[number % STEPS];
  const bodies = [
    { kind: "job.v1", set: { title: "Weeks of work", registration: "ZZ-FAY", part: "Wing-tip fairing", discrepancy: "Torn flange." } },
    ...steps.map((id, place) => ({
      kind: "step.v1",
      id,
      set: { title: `Step ${place + 1}: row ${place + 1}`, order: `${(0x81 + place).toString(16)}80`, hold_point: place % 8 === 7 },
    })),
    ...digests.map((digest, number) => (
      { kind: "photo.v1", id: uuid(), step: step(number), set: { digest, media_type: "image/jpeg", moment: "during", caption: `photo ${number}` } }
    )),
  ];
  for (let number = 0; bodies.length < count; number += 2) {
    const note = { kind: "note.v1", id: uuid(), step: step(number) };
    bodies.push({ ...note, set: { text: `Row ${number}: ground down to sound cloth.` } });
    bodies.push({ kind: "reading.v1", id: uuid(), step: step(number + 1), set: { label: `Hole ${number}`, value: "0.129", unit: "in" } });
    if (number % 4 === 0) bodies.push({ ...note, set: { text: `Row ${number}: ground down, 12 mm past the crack.` } });
  }
  bodies.length = count;
  // The last one is a reading, whatever the count.
  bodies[count - 1] = { kind: "reading.v1", id: uuid(), step: steps[0], set: { label: "Last hole", value: "0.130", unit: "in" } };
  return bodies;
}

/**
 * Opens a job with so many photos, their bytes sent.
 * @param {(digests: string[]) => object[]} bodies the job's changes, given the photos' digests
 * @returns {Promise<{ shop: string, job: string }>}
 */
export async function openWithPhotos(server, login, count, bodies) {
  const desk = await Desk.signIn(server.url, login);
  const files = await photoFiles(count);
  const photos = await Promise.all(files.files.map((file) => readFile(file)));
  const job = await desk.openJob(bodies(photos.map(sha256)));
  const sender = await signInByHttp(server, login);
  const log = `shop:${desk.shop}/job:${job}`;
  for (const bytes of photos) await send(sender, bytes, { log, chunkSize: bytes.length });
  await files.remove();
  return { shop: desk.shop, job };
}
