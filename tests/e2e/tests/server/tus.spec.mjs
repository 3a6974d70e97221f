// The server's side of tus 1.0, driven by the unmodified public client `tus-js-client`. No page is open.

import { readFile } from "node:fs/promises";
import { Upload } from "tus-js-client";
import { largePhoto } from "../../support/photos.mjs";
import { expect, test } from "../../support/server.mjs";
import { PART, ask, checksums, keptPhotos, prepare, send, sha256, signInByHttp, stagedUploads } from "../../support/tus.mjs";

/** What the server declares. One more has to be shown by a test of its own. */
const DECLARED = ["creation", "checksum", "termination", "expiration"];

let photos;

test.beforeAll(async () => {
  const made = await Promise.all(Array.from({ length: 8 }, () => largePhoto(5 * PART)));
  photos = await Promise.all(made.map(({ file }) => readFile(file)));
  await Promise.all(made.map(({ remove }) => remove()));
});

async function mechanic(freshServer) {
  return signInByHttp(await freshServer({ demo: true }));
}

/** Stops after this many parts, as somebody who closes the app does. */
async function sendSome(person, bytes, parts, more = {}) {
  let taken = 0;
  let upload;
  await new Promise((resolve, reject) => {
    ({ upload } = prepare(person, bytes, {
      onChunkComplete: () => ++taken === parts && upload.abort().then(resolve, reject),
      onError: reject,
      ...more,
    }));
    upload.start();
  });
  return upload.url;
}

async function expectWhole(person, url, bytes) {
  const head = await ask(person, "HEAD", url);
  expect(head.status).toBe(200);
  expect(head.headers.get("upload-offset")).toBe(String(bytes.length));
  expect(head.headers.get("upload-length")).toBe(String(bytes.length));
  expect(head.headers.get("upload-complete")).toBe("?1");
  expect(head.headers.get("cache-control")).toContain("no-store");
  expect(await keptPhotos(person.server)).toContain(sha256(bytes));
}

test("the server declares what this file shows, and no more", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  const answer = await fetch(`${person.server.url}/api/v1/photos`, { method: "OPTIONS" });
  expect(answer.status).toBe(204);
  expect(answer.headers.get("tus-version")).toBe("1.0.0");
  expect(answer.headers.get("tus-extension").split(",").sort()).toEqual([...DECLARED].sort());
  expect(answer.headers.get("tus-checksum-algorithm").split(",")).toContain("sha1");
  expect(Number(answer.headers.get("tus-max-size"))).toBe(64 * 1024 * 1024);

  // What it does not declare it does not half do.
  const metadata = (await announcement(person, photos[0]))["Upload-Metadata"];
  const deferred = { "Upload-Defer-Length": "1", "Upload-Metadata": metadata };
  expect((await ask(person, "POST", "/api/v1/photos", deferred)).status).toBe(400);
});

/** The headers that announce a photo. */
async function announcement(person, bytes) {
  const pairs = { log: person.jobs[0], digest: sha256(bytes), type: "image/jpeg" };
  const metadata = Object.entries(pairs).map(([key, value]) => `${key} ${Buffer.from(value).toString("base64")}`);
  return { "Upload-Length": String(bytes.length), "Upload-Metadata": metadata.join(",") };
}

test("a photo is created, sent in parts and kept", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  await expectWhole(person, await send(person, photos[0]), photos[0]);
  expect(await stagedUploads(person.server)).toEqual([]);
});

test("eight photos travel at the same time", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  const urls = await Promise.all(photos.map((photo) => send(person, photo)));
  expect(new Set(urls).size).toBe(photos.length);
  for (const [at, url] of urls.entries()) await expectWhole(person, url, photos[at]);
});

test("every part's checksum is checked, by SHA-1 and by SHA-256", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  for (const [at, algorithm] of ["sha1", "sha256"].entries()) {
    await expectWhole(person, await send(person, photos[at], checksums(photos[at], algorithm)), photos[at]);
    const bytes = photos[at + 2];
    const spoil = (digest, offset) => (offset === 2 * PART ? Buffer.alloc(digest.length) : digest);
    const { upload, ended } = prepare(person, bytes, checksums(bytes, algorithm, spoil));
    upload.start();
    const error = await ended.catch((error) => error);
    expect(error.originalResponse.getStatus()).toBe(460);
    // The part was not taken; sent again it is, and the photo is whole.
    expect((await ask(person, "HEAD", upload.url)).headers.get("upload-offset")).toBe(String(2 * PART));
    await expectWhole(person, await send(person, bytes, { uploadUrl: upload.url }), bytes);
  }
  const url = await sendSome(person, photos[5], 1);
  const headers = { "Content-Type": "application/offset+octet-stream", "Upload-Offset": String(PART) };
  const unknown = { ...headers, "Upload-Checksum": "md5 1B2M2Y8AsgTpgAmY7PhCfg==" };
  expect((await ask(person, "PATCH", url, unknown, photos[5].subarray(PART))).status).toBe(400);
});

test("an upload that was given up half-way is resumed, by the same client and by another", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  const url = await sendSome(person, photos[0], 2);
  let first;
  const onProgress = (sent) => (first ??= sent);
  expect(await send(person, photos[0], { uploadUrl: url, onProgress })).toBe(url);
  expect(first).toBe(2 * PART);
  await expectWhole(person, url, photos[0]);
});

test("uploads go on after the server was killed and started again", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  const { server } = person;
  const waiting = await sendSome(person, photos[1], 3);
  let killed;
  const onChunkComplete = (_, accepted) => {
    if (accepted >= 2 * PART) killed ??= server.kill9().then(() => server.start());
  };
  // The client tries again by itself until the server is back.
  const retryDelays = [100, 200, 400, 800, 1600, 3200];
  const url = await send(person, photos[0], { onChunkComplete, retryDelays });
  await killed;
  await expectWhole(person, url, photos[0]);
  await expectWhole(person, await send(person, photos[1], { uploadUrl: waiting }), photos[1]);
  expect(await stagedUploads(server)).toEqual([]);
});

test("an upload says until when it may take, and the same on every answer", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  const said = new Set();
  const onAfterResponse = (_, answer) => said.add(answer.getHeader("Upload-Expires"));
  const url = await sendSome(person, photos[0], 2, { onAfterResponse });
  said.add((await ask(person, "HEAD", url)).headers.get("upload-expires"));
  expect(said.size).toBe(1);
  const [expires] = said;
  expect(new Date(expires).toUTCString()).toBe(expires);
  const hours = (new Date(expires) - Date.now()) / 3_600_000;
  expect(hours).toBeGreaterThan(47);
  expect(hours).toBeLessThanOrEqual(48);
});

test("an upload that is terminated is gone, and the same photo can be sent anew", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  const url = await sendSome(person, photos[0], 2);
  expect(await stagedUploads(person.server)).toHaveLength(1);
  await Upload.terminate(url, { headers: person.headers, retryDelays: [] });
  expect(await stagedUploads(person.server)).toEqual([]);
  for (const method of ["HEAD", "PATCH", "DELETE"]) {
    const headers = { "Content-Type": "application/offset+octet-stream", "Upload-Offset": "0" };
    expect([404, 410]).toContain((await ask(person, method, url, headers)).status);
  }
  // Given an address that is gone, the client begins anew.
  const anew = await send(person, photos[0], { uploadUrl: url });
  expect(anew).not.toBe(url);
  await expectWhole(person, anew, photos[0]);
});

test("where only POST gets through, a header names the method", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  await expectWhole(person, await send(person, photos[0], { overridePatchMethod: true }), photos[0]);
  const url = await sendSome(person, photos[1], 1);
  expect((await ask(person, "POST", url, { "X-HTTP-Method-Override": "DELETE" })).status).toBe(204);
  expect((await ask(person, "HEAD", url)).status).toBe(404);
  expect((await ask(person, "POST", url, { "X-HTTP-Method-Override": "PUT" })).status).toBe(405);
  expect((await ask(person, "POST", url)).status).toBe(405);
});

test("what contradicts the protocol is refused and harms nothing", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  const url = await sendSome(person, photos[0], 2);
  const part = { "Content-Type": "application/offset+octet-stream", "Upload-Offset": String(2 * PART) };
  const rest = photos[0].subarray(2 * PART);
  const wrong = [
    [{ ...part, "Upload-Offset": "0" }, rest, 409],
    [{ ...part, "Upload-Offset": String(3 * PART) }, rest, 409],
    [{ ...part, "Upload-Offset": "-1" }, rest, 400],
    [{ ...part, "Content-Type": "image/jpeg" }, rest, 415],
    [{ ...part, "Tus-Resumable": "0.2.2" }, rest, 412],
    [part, Buffer.concat([rest, Buffer.of(0)]), 413],
  ];
  for (const [headers, body, status] of wrong) {
    const answer = await ask(person, "PATCH", url, headers, body);
    expect(answer.status, JSON.stringify(headers)).toBe(status);
    expect(answer.headers.get("tus-resumable")).toBe("1.0.0");
    expect((await ask(person, "HEAD", url)).headers.get("upload-offset")).toBe(String(2 * PART));
  }
  const stranger = await signInByHttp(person.server, "inspector");
  expect((await ask(stranger, "HEAD", url)).status).toBe(404);
  await expectWhole(person, await send(person, photos[0], { uploadUrl: url }), photos[0]);
});

test("what can't be taken is refused with its reason, and the rest of the queue goes on", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  const demo = await keptPhotos(person.server);
  const text = Buffer.from("torque 25 in-lb, see page 4\n".repeat(100));
  const queue = [
    [photos[0]],
    [photos[1], { digest: sha256(photos[2]) }, 460, /checksum does not match/],
    [photos[1], { uploadSize: photos[1].length - 10 }, 460, /checksum does not match/],
    [photos[3]],
    [text, {}, 415, /photo/],
    [bomb(), { type: "image/png" }, 413, /pixels/],
    [Buffer.alloc(200 * 1024 * 1024), { digest: sha256(Buffer.of()) }, 413, /209715200 bytes; at most 67108864/],
    [Buffer.alloc(0), {}, 422, /length.*1 to 67108864 bytes/],
    [photos[4]],
  ];
  const kept = [...demo];
  for (const [bytes, options, status, reason] of queue) {
    const outcome = await send(person, bytes, options).catch((error) => error);
    if (status === undefined) {
      await expectWhole(person, outcome, bytes);
      kept.push(sha256(bytes));
      continue;
    }
    expect(outcome.originalResponse?.getStatus(), String(outcome)).toBe(status);
    const problem = JSON.parse(outcome.originalResponse.getBody());
    expect(`${problem.title} ${problem.detail}`).toMatch(reason);
  }
  expect((await keptPhotos(person.server)).sort()).toEqual(kept.sort());
  expect(await stagedUploads(person.server)).toEqual([]);
});

/** A PNG of a few bytes that claims to have 60,000 x 60,000 pixels. */
function bomb() {
  const header = Buffer.alloc(33);
  header.write("\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "latin1");
  header.writeUInt32BE(60_000, 16);
  header.writeUInt32BE(60_000, 20);
  header.set([8, 2], 24);
  return header;
}

test("a photo that is sent twice, even at the same time or for another job, is kept once in the shop", async ({ freshServer }) => {
  const person = await mechanic(freshServer);
  const inspector = await signInByHttp(person.server, "inspector");
  const [one, other] = person.jobs;
  // An upload of a photo that the shop has is complete from the start. The client does not read that
  // from the answer to its announcement: it sends a part, is told the offset, and asks where it stands.
  const retryDelays = [0, 1000];
  const urls = await Promise.all([
    send(person, photos[0], { log: one, retryDelays }),
    send(person, photos[0], { log: other, retryDelays }),
    send(inspector, photos[0], { log: one, retryDelays }),
  ]);
  expect(new Set(urls).size).toBe(3);
  let parts = 0;
  const onChunkComplete = () => parts++;
  const again = await send(person, photos[0], { log: other, retryDelays, onChunkComplete });
  expect(parts).toBe(0);
  await expectWhole(person, again, photos[0]);
  const copies = (await keptPhotos(person.server)).filter((digest) => digest === sha256(photos[0]));
  expect(copies).toHaveLength(1);
  expect(await stagedUploads(person.server)).toEqual([]);
});
