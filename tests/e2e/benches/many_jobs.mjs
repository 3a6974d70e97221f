// A shop with many jobs or a full shelf, put there through the HTTP interface by a device of its
// own: it signs in as a person does, and signs every change as a phone does
// (shared-types/src/change.rs, shared-types/src/api.rs).

import { createHash, randomBytes, webcrypto } from "node:crypto";
import { PASSWORD } from "../support/people.mjs";

const ES256 = { name: "ECDSA", namedCurve: "P-256", hash: "SHA-256" };

const REPAIRS = [
  ["Tail-cone fairing", "Loose rivets on the left side", "Four rivets on the left side smear. No cracks seen from outside."],
  ["Wing-tip fairing", "Torn attach flange", "The flange is torn between two holes. Lay-up is dry and white around the third."],
  ["Engine cowl, upper", "Crack at the latch", "A crack runs from the latch cut-out along the stiffener, about as long as a thumb."],
  ["Wheel spat, right", "Holes worn oval", "Three of eight holes are oval, screws sit loose, paint is worn through to the cloth."],
];

const STEPS = [
  "Make safe and gain access to both sides",
  "Photograph and number the row",
  "Survey which rivets work, and why",
  "Decide the fastener for each hole",
  "Secure the joint",
  "Take the working rivets out",
  "Read the empty holes",
  "Set the new rivets",
  "Inspect and close",
];

const INSTRUCTION =
  "Photograph it as found, streaks included. Number every hole from a fixed landmark, look for cracks that start " +
  "at holes with a glass and a light from the side, and ask why it works before anything is drilled.";

/** Opens `count` jobs in the person's first shop. */
export async function openJobs(url, login, count) {
  const desk = await Desk.signIn(url, login);
  for (let number = 1; number <= count; number++) await desk.openJob(number);
}

/** Puts `count` items on the shelf of the person's first shop. */
export async function fillShelf(url, login, count) {
  const desk = await Desk.signIn(url, login);
  await desk.fillShelf(Array.from({ length: count }, (_, number) => item(number)));
}

/** An item of the shelf: rivets of all sizes, batch by batch. */
function item(number) {
  const set = {
    part_number: `MS204${number % 2 ? 70 : 26}AD${2 + (number % 5)}-${3 + (number % 12)}`,
    description: "solid rivet",
    batch: `R-${10_000 + number}`,
    source_document: `CoC 90-${number}`,
    quantity: 100 + number,
    location: `drawer ${number % 60}`,
  };
  return { kind: "stock.v1", id: uuid(), set };
}

/** A signed-in device of a person. */
class Desk {
  #stamp = [0, 0];

  static async signIn(url, login) {
    const keys = await webcrypto.subtle.generateKey(ES256, false, ["sign", "verify"]);
    const publicKey = Buffer.from(await webcrypto.subtle.exportKey("raw", keys.publicKey)).toString("base64url");
    const device = { id: uuid(), name: "desk of the benches", public_key: publicKey };
    const session = await post(`${url}/api/v1/auth/sign-in`, { login, password: PASSWORD, device });
    return Object.assign(new Desk(), { url, keys, device: device.id, token: session.access_token, me: session.me });
  }

  async openJob(number) {
    const shop = this.me.shops[0].shop;
    const job = uuid();
    const changes = await this.#signed(`shop:${shop}/job:${job}`, bodies(number));
    const answer = await post(`${this.url}/api/v1/shops/${shop}/jobs/${job}/changes`, { changes, pending: 0 }, this.token);
    const refused = answer.answers.filter((it) => it.answer !== "taken");
    if (refused.length > 0) throw new Error(`the server did not take ${JSON.stringify(refused)}`);
  }

  /** In pushes as long as the server takes them. */
  async fillShelf(bodies) {
    const shop = this.me.shops[0].shop;
    const signed = await this.#signed(`shop:${shop}`, bodies);
    for (let from = 0; from < signed.length; from += 500) {
      const changes = signed.slice(from, from + 500);
      const answer = await post(`${this.url}/api/v1/shops/${shop}/changes`, { changes, pending: 0 }, this.token);
      const refused = answer.answers.filter((it) => it.answer !== "taken");
      if (refused.length > 0) throw new Error(`the server did not take ${JSON.stringify(refused)}`);
    }
  }

  /** The bodies as this device's first changes in a log, each naming the one before it. */
  async #signed(log, bodies) {
    const changes = [];
    let previous;
    for (const body of bodies) {
      const change = { id: uuid(), log, author: this.me.user, device: this.device, stamp: this.#next(), previous, body };
      const text = JSON.stringify(change);
      const signature = await webcrypto.subtle.sign(ES256, this.keys.privateKey, Buffer.from(text));
      changes.push({ text, signature: Buffer.from(signature).toString("base64url") });
      previous = createHash("sha256").update(text).digest("hex");
    }
    return changes;
  }

  #next() {
    const now = Date.now();
    const [last, counter] = this.#stamp;
    return (this.#stamp = now > last ? [now, 0] : [last, counter + 1]);
  }
}

/** What opens a job and brings it some way: no two jobs are equally far. */
function bodies(number) {
  const [part, title, discrepancy] = REPAIRS[number % REPAIRS.length];
  const done = number % STEPS.length;
  const facts = {
    title: `${title}, no. ${number}`,
    registration: `ZZ-${String(number).padStart(3, "0")}`,
    aircraft_type: "Touring motor glider (invented)",
    aircraft_serial: `S-${1000 + number}`,
    part,
    discrepancy,
  };
  const reference = { document: "Type's maintenance manual (invented)", revision: "3", paragraph: "51-10-02" };
  return [
    { kind: "job.v1", set: facts },
    { kind: "data-reference.v1", id: uuid(), set: reference },
    ...STEPS.map((title, place) => ({ kind: "step.v1", id: uuid(), set: step(title, place, place < done) })),
  ];
}

function step(title, place, done) {
  const order = `${(0x81 + place).toString(16)}80`;
  const times = done ? { started_at: Date.now() - 3_600_000, finished_at: Date.now() } : {};
  return { title, instruction: INSTRUCTION, order, hold_point: false, ...times };
}

async function post(address, body, token) {
  const headers = { "content-type": "application/json", ...(token && { authorization: `Bearer ${token}` }) };
  const answer = await fetch(address, { method: "POST", headers, body: JSON.stringify(body) });
  if (!answer.ok) throw new Error(`${address}: ${answer.status} ${await answer.text()}`);
  return answer.json();
}

/** A UUID that begins with the time (version 7). */
function uuid() {
  const bytes = randomBytes(16);
  bytes.writeUIntBE(Date.now(), 0, 6);
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  return bytes.toString("hex").replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
