// The service worker: the app without a network, and never two builds mixed.
//
// A template: the build puts in its own name and the list of its files. Because
// both change with every build, the browser sees a new worker exactly when there
// is a new build.
//
// One build is stored as one set, or not at all. Its pages name content-hashed
// files, so a page and the files it asks for always belong together.

const VERSION = "__VERSION__";
const PRECACHE = "__PRECACHE__";

const PREFIX = "faying-";
const CACHE = PREFIX + VERSION;
const SHELL = "/shell";
// A record is also a page of the server's, worth a short wait when there is signal.
const RECORD_PATIENCE_MS = 3000;

self.addEventListener("install", (event) => {
  // No skipWaiting here: an open page goes on with its own build until the
  // person agrees to change over (see "message").
  event.waitUntil(storeBuild());
});

self.addEventListener("activate", (event) => {
  event.waitUntil(dropOtherBuilds().then(() => self.clients.claim()));
});

self.addEventListener("message", (event) => {
  // The app asked the person, and will reload once when this worker takes over.
  if (event.data?.type === "activate") self.skipWaiting();
});

self.addEventListener("notificationclick", (event) => {
  // A pot's alarm.
  event.notification.close();
  event.waitUntil(lead(event.notification.data ?? "/"));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  // What is not answered here goes to the network as if there were no worker.
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (belongsToServer(url.pathname)) return;
  if (request.mode !== "navigate") {
    if (PRECACHE.includes(url.pathname)) event.respondWith(file(request, url.pathname));
    return;
  }
  // A file opened by its address is not a place in the app.
  if (isFile(url.pathname)) return;
  event.respondWith(isRecord(url.pathname) ? record(request) : app(request));
});

// The app as it is open, wherever it is; its own page only where it was closed.
async function lead(path) {
  const [open] = await self.clients.matchAll({ type: "window" });
  return open ? open.focus() : self.clients.openWindow(path);
}

async function storeBuild() {
  const cache = await caches.open(CACHE);
  try {
    // "reload": from the server itself, not from what the browser kept earlier.
    // addAll is atomic: one missing file, and nothing is stored.
    await cache.addAll(PRECACHE.map((path) => new Request(path, { cache: "reload" })));
    const shell = await cache.match(SHELL, { ignoreVary: true });
    const build = shell?.headers.get("x-faying-build");
    // During a deployment an older server may answer for the shell. Its page
    // would ask for another build's files: refuse, the browser will try again.
    if (build !== VERSION) throw new Error(`the shell is of build ${build}, not ${VERSION}`);
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
}

async function dropOtherBuilds() {
  const names = await caches.keys();
  const others = names.filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  await Promise.all(others.map((name) => caches.delete(name)));
}

// Data and the server's own pages are never kept: they would be wrong tomorrow,
// and the app has its own store for what it needs offline.
function belongsToServer(path) {
  return path === "/api" || path.startsWith("/api/") || ["/healthz", "/readyz", "/metrics", "/sw.js"].includes(path);
}

function isFile(path) {
  return path.slice(path.lastIndexOf("/")).includes(".");
}

function isRecord(path) {
  return path.split("/").includes("record");
}

// The stored shell first, signal or not: the same page in both cases, at once,
// and always of this worker's build.
async function app(request) {
  return (await stored(SHELL)) ?? fetch(request);
}

// The server's record if it comes soon and is a record; otherwise the app shows
// the one on this device.
async function record(request) {
  const answer = fetch(request).catch(() => undefined);
  // Whoever looks by a link has nothing on this device to be shown instead.
  if (new URL(request.url).searchParams.has("link")) return (await answer) ?? (await stored(SHELL)) ?? Response.error();
  const tooLate = new Promise((resolve) => setTimeout(resolve, RECORD_PATIENCE_MS));
  const response = await Promise.race([answer, tooLate]);
  if (response?.ok) return response;
  return (await stored(SHELL)) ?? (await answer) ?? Response.error();
}

// The browser may have dropped the store under pressure: then the network decides,
// and what it does not have is a 404, never a page in a file's place.
async function file(request, path) {
  return (await stored(path)) ?? fetch(request);
}

async function stored(path) {
  const cache = await caches.open(CACHE);
  return cache.match(path, { ignoreVary: true });
}
