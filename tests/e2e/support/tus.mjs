// Photos sent with the unmodified public client tus-js-client, by somebody signed in without a browser.

import { createHash, generateKeyPairSync, randomUUID } from "node:crypto";
import { readdir } from "node:fs/promises";
import { join } from "node:path";
import { Upload } from "tus-js-client";
import { PASSWORD } from "./people.mjs";

/** Small enough that a photo of the tests takes several. */
export const PART = 64 * 1024;

export const sha256 = (bytes) => createHash("sha256").update(bytes).digest("hex");

/** Signs in over HTTP; gives what an upload needs to know. */
export async function signInByHttp(server, login = "mechanic") {
  const answer = await fetch(`${server.url}/api/v1/auth/sign-in`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ login, password: PASSWORD, device: device() }),
  });
  if (!answer.ok) throw new Error(`signing in: ${answer.status} ${await answer.text()}`);
  const { access_token: token, me } = await answer.json();
  const headers = { Authorization: `Bearer ${token}` };
  const { shop } = me.shops[0];
  const { logs } = await (await fetch(`${server.url}/api/v1/shops/${shop}/logs`, { headers })).json();
  const jobs = logs.map(({ log }) => log).filter((log) => log.includes("/job:"));
  return { server, headers, shop, jobs };
}

function device() {
  const { publicKey } = generateKeyPairSync("ec", { namedCurve: "P-256" });
  const { x, y } = publicKey.export({ format: "jwk" });
  const point = Buffer.concat([Buffer.of(4), Buffer.from(x, "base64url"), Buffer.from(y, "base64url")]);
  return { id: randomUUID(), name: "tus-js-client", public_key: point.toString("base64url") };
}

/**
 * An upload that is about to start, and the promise of its end: its address, or the client's error.
 * @param {object} more options of tus-js-client; `log`, `digest` and `type` are announced instead of the true ones
 */
export function prepare(person, bytes, { log = person.jobs[0], digest = sha256(bytes), type = "image/jpeg", ...more } = {}) {
  const { promise, resolve, reject } = deferred();
  const upload = new Upload(bytes, {
    endpoint: `${person.server.url}/api/v1/photos`,
    headers: person.headers,
    metadata: { log, digest, type },
    chunkSize: PART,
    retryDelays: [],
    onSuccess: () => resolve(upload.url),
    onError: reject,
    ...more,
  });
  return { upload, ended: promise };
}

/** Sends a photo from start to end. */
export function send(person, bytes, options) {
  const { upload, ended } = prepare(person, bytes, options);
  upload.start();
  return ended;
}

function deferred() {
  const made = {};
  made.promise = new Promise((resolve, reject) => Object.assign(made, { resolve, reject }));
  return made;
}

/** A request of the protocol, for what the client never asks by itself. */
export function ask(person, method, path, headers = {}, body = undefined) {
  const all = { ...person.headers, "Tus-Resumable": "1.0.0", ...headers };
  return fetch(new URL(path, person.server.url), { method, headers: all, body });
}

/** The client's option for a checksum of every part: the client leaves it to whoever uses it. */
export function checksums(bytes, algorithm, spoil = (digest) => digest) {
  return {
    onBeforeRequest(request) {
      if (request.getMethod() !== "PATCH") return;
      const offset = Number(request.getHeader("Upload-Offset"));
      const part = bytes.subarray(offset, offset + PART);
      const digest = spoil(createHash(algorithm).update(part).digest(), offset);
      request.setHeader("Upload-Checksum", `${algorithm} ${digest.toString("base64")}`);
    },
  };
}

/** The digests of the originals that the server keeps, as often as it keeps each. */
export async function keptPhotos(server) {
  const files = await readdir(join(server.folder, "photos", "photos"), { recursive: true });
  return files.map((file) => file.split("/").at(-1)).filter((name) => /^[0-9a-f]{64}$/.test(name));
}

/** The uploads that the server holds bytes of. */
export async function stagedUploads(server) {
  return readdir(join(server.folder, "photos", "staging"));
}
