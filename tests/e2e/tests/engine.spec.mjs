// The engine in the browser and the engine on the server are one program: the same
// text comes out, byte for byte, so the same bits. Asked with every kind's example and
// with examples whose numbers were moved, so that roots, sines and logarithms of odd
// arguments are among them.

import { randomUUID, webcrypto } from "node:crypto";
import { ready } from "../support/app.mjs";
import { PASSWORD } from "../support/people.mjs";
import { expect, test } from "../support/server.mjs";

/** Examples with moved numbers, per kind. */
const MOVED = 12;

test.skip(({ isMobile }) => !isMobile, "one engine, whatever the screen");

test("browser and server agree to the last bit", async ({ page, freshServer }) => {
  const server = await freshServer({ demo: true });
  const kinds = await (await fetch(`${server.url}/api/v1/calc`)).json();
  expect(kinds.length).toBeGreaterThanOrEqual(24);
  const random = numbers(19);
  const asked = kinds.flatMap(({ kind, example }) =>
    [example, ...Array.from({ length: MOVED }, () => moved(example, random))].map((input) => [kind, JSON.stringify(input)]),
  );

  await page.goto(server.url);
  await ready(page);
  const browser = await page.evaluate(async (asked) => {
    const engine = await globalThis.fayingEngine();
    return asked.map(([kind, input]) => engine.calculate(kind, input));
  }, asked);
  const calculate = await signedIn(server.url);
  let results = 0;
  for (const [number, [kind, input]] of asked.entries()) {
    const answer = await calculate(kind, input);
    const found = browser[number];
    if (answer.status === 200) {
      results += 1;
      expect(withoutPaper(found), `${kind} ${input}`).toBe(`{"result":${withoutPaper(answer.text)}}`);
    } else {
      // A moved number may be out of range: then both say so, about the same fields.
      expect(answer.status, `${kind} ${input}: ${answer.text}`).toBe(422);
      const fields = (list) => list.map(({ field }) => field);
      expect(fields(JSON.parse(found).refused), `${kind} ${input}`).toEqual(fields(JSON.parse(answer.text).fields));
    }
  }
  // Most of them are within their ranges.
  expect(results).toBeGreaterThan(asked.length / 2);
});

/** The PDF and its count of pages are the server's alone: a browser shows the SVG. */
function withoutPaper(text) {
  return text.replace(/"pdf_base64":(null|"[^"]*")/g, '"pdf_base64":null').replace(/"pages":(null|\d+)/g, '"pages":null');
}

/** A copy in which each quantity is up to a fifth smaller or a quarter larger. */
function moved(value, random) {
  if (Array.isArray(value)) return value.map((entry) => moved(entry, random));
  if (value !== null && typeof value === "object") {
    return Object.fromEntries(Object.entries(value).map(([key, entry]) => [key, moved(entry, random)]));
  }
  const quantity = typeof value === "string" && value.match(/^(-?\d+(?:\.\d+)?)( .+)$/);
  return quantity ? `${Number((Number(quantity[1]) * (0.8 + 0.45 * random())).toPrecision(6))}${quantity[2]}` : value;
}

/** Numbers from 0 to 1 that are the same in every run (a linear congruence, modulus 2^32). */
function numbers(seed) {
  let state = seed;
  return () => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 2 ** 32;
}

/** Asks the server for calculations, as a person on a device of their own. */
async function signedIn(url) {
  const keys = await webcrypto.subtle.generateKey({ name: "ECDSA", namedCurve: "P-256" }, true, ["sign", "verify"]);
  const public_key = Buffer.from(await webcrypto.subtle.exportKey("raw", keys.publicKey)).toString("base64url");
  const device = { id: randomUUID(), name: "a desk", public_key };
  const headers = { "content-type": "application/json" };
  const body = JSON.stringify({ login: "mechanic", password: PASSWORD, device });
  const session = await (await fetch(`${url}/api/v1/auth/sign-in`, { method: "POST", headers, body })).json();
  return async (kind, input) => {
    const answer = await fetch(`${url}/api/v1/calc/${kind}`, {
      method: "POST",
      headers: { ...headers, authorization: `Bearer ${session.access_token}` },
      body: input,
    });
    return { status: answer.status, text: await answer.text() };
  };
}
