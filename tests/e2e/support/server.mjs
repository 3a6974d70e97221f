// A `faying` server of one's own: a free port on loopback, an empty database
// and photo folder, removed afterwards.
//
//   import { test, expect } from "../support/server.mjs";
//   test("...", async ({ page, server }) => { await page.goto(server.url); });
//
// The fixture `server` is shared by the tests of one file in one worker and is
// running when a test begins. `freshServer({ demo: true })` gives another one.

import { test as base, expect } from "@playwright/test";
import { spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtemp, rm } from "node:fs/promises";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";

const READY_WITHIN_MS = 20_000;
const STOP_WITHIN_MS = 10_000;

/** A server that may be stopped, killed and started again at the same address. */
export class Server {
  #child;
  #log = "";

  /**
   * @param {object} options
   * @param {boolean} [options.demo] with the demo scenario loaded
   * @param {string} [options.site] another built site than the one under test
   * @param {string[]} [options.extra] more arguments for `faying serve`
   */
  constructor(folder, port, options = {}) {
    this.folder = folder;
    this.port = port;
    this.options = options;
  }

  /** Makes a folder, finds a port, starts. */
  static async start(options = {}) {
    const folder = await mkdtemp(join(tmpdir(), "faying-test-"));
    const server = new Server(folder, await freePort(), options);
    await server.start();
    return server;
  }

  get url() {
    return `http://127.0.0.1:${this.port}`;
  }

  get database() {
    return `sqlite://${join(this.folder, "faying.db")}`;
  }

  get photos() {
    return `file://${join(this.folder, "photos")}`;
  }

  /** What the server has written since it first started. */
  get log() {
    return this.#log;
  }

  get running() {
    return this.#child !== undefined && this.#child.exitCode === null && this.#child.signalCode === null;
  }

  get pid() {
    return this.#child?.pid;
  }

  /** Starts, or starts again, and waits until it is ready. */
  async start() {
    if (this.running) return;
    const { demo = false, site = setting("FAYING_SITE"), extra = [] } = this.options;
    const listen = `127.0.0.1:${this.port}`;
    const store = ["--database", this.database, "--photos", this.photos];
    const more = demo ? ["--demo", ...extra] : extra;
    this.#child = spawn(setting("FAYING_BIN"), ["serve", "--listen", listen, "--site", site, ...store, ...more], {
      cwd: this.folder,
      stdio: ["ignore", "pipe", "pipe"],
    });
    this.#child.on("error", (error) => (this.#log += `${error}\n`));
    for (const pipe of [this.#child.stdout, this.#child.stderr]) pipe.on("data", (text) => (this.#log += text));
    await this.#untilReady();
  }

  async #untilReady() {
    const deadline = Date.now() + READY_WITHIN_MS;
    while (Date.now() < deadline) {
      if (!this.running) throw new Error(`the server ended as it started; it wrote:\n${this.#log}`);
      const answer = await fetch(`${this.url}/readyz`).catch(() => undefined);
      if (answer?.ok) return;
      await sleep(20);
    }
    await this.kill9();
    throw new Error(`the server was not ready after ${READY_WITHIN_MS} ms; it wrote:\n${this.#log}`);
  }

  /** Ends it gracefully, by its process id; fails if it does not end. */
  async stop() {
    if (!this.running) return;
    const ended = once(this.#child, "exit").then(() => true);
    this.#child.kill("SIGTERM");
    if (await Promise.race([ended, sleep(STOP_WITHIN_MS, false, { ref: false })])) return;
    await this.kill9();
    throw new Error(`the server did not end within ${STOP_WITHIN_MS} ms of SIGTERM; it wrote:\n${this.#log}`);
  }

  /** Ends it at once, as a power cut would. */
  async kill9() {
    if (!this.running) return;
    const ended = once(this.#child, "exit");
    this.#child.kill("SIGKILL");
    await ended;
  }

  /** Serves another site from the next start on: a new release of the app. */
  useSite(site) {
    this.options = { ...this.options, site };
  }

  /** Ends it and removes its data. */
  async remove() {
    await this.kill9();
    await rm(this.folder, { recursive: true, force: true });
  }
}

function setting(name) {
  const value = process.env[name];
  if (!value) throw new Error(`${name} is not set: run the browser tests with \`cargo xtask test --only browser\``);
  return value;
}

/** A port that was free a moment ago. */
async function freePort() {
  const probe = createServer();
  probe.listen(0, "127.0.0.1");
  await once(probe, "listening");
  const { port } = probe.address();
  probe.close();
  await once(probe, "close");
  return port;
}

export { expect };

export const test = base.extend({
  // Playwright begins a new worker for each project, and keeps it over files;
  // a file's tests share a server, so this fixture is keyed by file.
  servers: [
    async ({}, use) => {
      const servers = new Map();
      await use(servers);
      for (const server of servers.values()) await server.remove();
    },
    { scope: "worker" },
  ],

  /** This file's server, running. */
  server: async ({ servers }, use, testInfo) => {
    const known = servers.get(testInfo.file);
    const server = known ?? (await Server.start());
    servers.set(testInfo.file, server);
    await server.start();
    await use(server);
    if (testInfo.status !== testInfo.expectedStatus) {
      await testInfo.attach("server.log", { body: server.log, contentType: "text/plain" });
    }
  },

  /** A function that starts further servers; they end with the test. */
  freshServer: async ({}, use) => {
    const started = [];
    await use(async (options) => {
      const server = await Server.start(options);
      started.push(server);
      return server;
    });
    for (const server of started) await server.remove();
  },
});
