// Starts the app. The page itself carries no script, so that its security
// policy can forbid inline ones; this file is the only one that it names.
// The build puts in the names of this build's files.

const WORKERS = "__WORKERS__";

// The calculation engine is as big as the app, and few visits need it: the app
// calls this when somebody opens a worksheet or searches the catalogue.
globalThis.fayingEngine = async () => {
  const engine = await import("__ENGINE_JS__");
  await engine.default({ module_or_path: "__ENGINE_WASM__" });
  return engine;
};

try {
  for (const [name, address] of Object.entries(WORKERS)) {
    // `photo-worker` becomes the attribute `data-photo-worker`, where the app looks.
    document.documentElement.setAttribute(`data-${name}`, address);
  }
  // From the worker's store the app is here at once, and nothing waits in line behind it.
  if (!navigator.serviceWorker?.controller) await firstPaint();
  const wasm = fetch("__APP_WASM__");
  const app = await import("__APP_JS__");
  await app.default({ module_or_path: wasm });
  // Sets `data-ready` on <html> when the screens answer to the hand.
  await app.start();
} catch (error) {
  console.error("the app could not start:", error);
  showProblem();
}
keepOffline();

// The page is on the glass before the app, which is a hundred times its size, takes the
// network and the processor. A tab in the background paints nothing, and starts all the same.
function firstPaint() {
  return new Promise((resolve) => {
    requestAnimationFrame(() => setTimeout(resolve));
    setTimeout(resolve, 100);
  });
}

// Stores the app for offline use, and looks for a newer build whenever the app
// comes back to the front: an installed app may stay open for days.
function keepOffline() {
  const container = navigator.serviceWorker;
  // Browsers offer workers on secure pages only; without one the app still works online.
  if (!container) return;
  container.register("/sw.js", { updateViaCache: "none" }).then(
    (registration) => {
      document.addEventListener("visibilitychange", () => {
        if (document.visibilityState !== "visible") return;
        // No signal: there will be another time.
        registration.update().catch(() => undefined);
      });
    },
    (error) => console.warn("the app cannot be kept for offline use:", error),
  );
}

function showProblem() {
  const place = document.getElementById("boot-problem") ?? document.body.appendChild(document.createElement("section"));
  place.id = "boot-problem";
  place.setAttribute("role", "alert");
  const text = document.createElement("p");
  text.textContent =
    "The app could not start. Everything you recorded on this device is still here. " +
    "Reload the page; if that does not help, and you have signal, fetch the app again.";
  place.replaceChildren(text, button("Reload", reload), button("Fetch the app again", fetchAgain));
  place.hidden = false;
}

function button(label, action) {
  const element = document.createElement("button");
  element.type = "button";
  element.className = "btn";
  element.textContent = label;
  element.addEventListener("click", action);
  return element;
}

function reload() {
  location.reload();
}

// Forgets the stored app, never the recorded work, which lies in IndexedDB.
async function fetchAgain() {
  // Without signal there is nothing to fetch, and forgetting would leave nothing at all.
  const there = await fetch("/shell", { cache: "no-store" }).catch(() => undefined);
  if (!there?.ok) return reload();
  const registrations = (await navigator.serviceWorker?.getRegistrations()) ?? [];
  await Promise.all(registrations.map((registration) => registration.unregister()));
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith("faying-")).map((name) => caches.delete(name)));
  reload();
}
