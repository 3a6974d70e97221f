// A device that works through the HTTP interface: it signs in as a person does, and signs every change
// as a phone does (shared-types/src/change.rs, shared-types/src/api.rs).

import { createHash, randomBytes, webcrypto } from "node:crypto";
import { PASSWORD } from "./people.mjs";

const ES256 = { name: "ECDSA", namedCurve: "P-256", hash: "SHA-256" };

/** A signed-in device of a person. */
export class Desk {
  #stamp = [0, 0];

  static async signIn(url, login) {
    const keys = await webcrypto.subtle.generateKey(ES256, false, ["sign", "verify"]);
    const publicKey = Buffer.from(await webcrypto.subtle.exportKey("raw", keys.publicKey)).toString("base64url");
    const device = { id: uuid(), name: "a device of the tests", public_key: publicKey };
    const session = await post(`${url}/api/v1/auth/sign-in`, { login, password: PASSWORD, device });
    return Object.assign(new Desk(), { url, keys, device: device.id, token: session.access_token, me: session.me });
  }

  get shop() {
    return this.me.shops[0].shop;
  }

  /** Opens a job with these changes; its id. */
  async openJob(bodies) {
    const job = uuid();
    await this.changeJob(job, bodies);
    return job;
  }

  /** Adds this device's first changes to a job. */
  async changeJob(job, bodies) {
    await this.#push(`shops/${this.shop}/jobs/${job}`, await this.#signed(`shop:${this.shop}/job:${job}`, bodies));
  }

  /** Makes an account with a role on one job alone. */
  async letGuestIn(job, login, name) {
    const asked = { roles: ["inspector"], note: name, hours: 24, job };
    const { secret } = await post(`${this.url}/api/v1/shops/${this.shop}/invitations`, asked, this.token);
    const { publicKey } = await webcrypto.subtle.generateKey(ES256, false, ["sign", "verify"]);
    const key = Buffer.from(await webcrypto.subtle.exportKey("raw", publicKey)).toString("base64url");
    const device = { id: uuid(), name: "a device of the tests", public_key: key };
    await post(`${this.url}/api/v1/auth/join`, { secret, login, name, password: PASSWORD, device });
  }

  /** Adds to the shop's own log. */
  async changeShop(bodies) {
    await this.#push(`shops/${this.shop}`, await this.#signed(`shop:${this.shop}`, bodies));
  }

  async get(path) {
    const answer = await fetch(`${this.url}/api/v1/${path}`, { headers: { authorization: `Bearer ${this.token}` } });
    if (!answer.ok) throw new Error(`${path}: ${answer.status} ${await answer.text()}`);
    return answer.json();
  }

  /** In pushes as long as the server takes them. */
  async #push(log, all) {
    for (let from = 0; from < all.length; from += 500) {
      const changes = all.slice(from, from + 500);
      const answer = await post(`${this.url}/api/v1/${log}/changes`, { changes, pending: 0 }, this.token);
      const refused = answer.answers.filter((it) => it.answer !== "taken");
      if (refused.length > 0) throw new Error(`the server did not take ${JSON.stringify(refused)}`);
    }
  }

  /** The bodies as this device's first changes in a log, each naming the one before it and those it replaces. */
  async #signed(log, bodies) {
    const changes = [];
    const last = new Map();
    let previous;
    for (const body of bodies) {
      const id = uuid();
      const fields = Object.keys(body.set ?? {}).map((field) => `${body.kind}/${body.id}/${field}`);
      const replaces = [...new Set(fields.map((field) => last.get(field)).filter(Boolean))];
      fields.forEach((field) => last.set(field, id));
      const change = { id, log, author: this.me.user, device: this.device, stamp: this.#next(), previous, replaces, body };
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

async function post(address, body, token) {
  const headers = { "content-type": "application/json", ...(token && { authorization: `Bearer ${token}` }) };
  const answer = await fetch(address, { method: "POST", headers, body: JSON.stringify(body) });
  if (!answer.ok) throw new Error(`${address}: ${answer.status} ${await answer.text()}`);
  return answer.json();
}

/** A UUID that begins with the time (version 7). */
export function uuid() {
  const bytes = randomBytes(16);
  bytes.writeUIntBE(Date.now(), 0, 6);
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  return bytes.toString("hex").replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
