{% autoescape off %}// Serves the logger's shell where the machine does not answer. It keeps the shell and its files, never a page with
// anybody's data: those it only passes through.
"use strict";

const BUILD = {{ build }};
const CACHE = `pupilage-shell-${BUILD.version}`;
const FILES = new Set(BUILD.files.map((file) => new URL(file, location.origin).pathname));
// A machine that is asleep does not refuse: it says nothing. The session screen is as good from here, so it does not wait;
// a page may take its time while the machine answers a small question in between.
const PATIENCE_MS = 10000;
const PATIENCE_LIVE_MS = 2500;
const LIVE = new RegExp(`^${BUILD.live}$`);

// All or nothing: a half-filled cache is never used, and a redirect (to a sign-in page) is not the shell.
self.addEventListener("install", (event) => event.waitUntil((async () => {
  const cache = await caches.open(CACHE);
  await Promise.all([BUILD.shell, ...BUILD.files].map(async (address) => {
    const answer = await fetch(address, { cache: "reload", credentials: "same-origin" });
    if (!answer.ok || answer.redirected) throw new Error(`${address}: ${answer.status}`);
    await cache.put(address, answer);
  }));
  if (!self.registration.active) await self.skipWaiting(); // the first one; a newer one waits until no screen is open
})()));

self.addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) {
    if (name.startsWith("pupilage-shell-") && name !== CACHE) await caches.delete(name);
  }
  await self.clients.claim();
})()));

const kept = async (address) => (await caches.open(CACHE)).match(address);

const after = (ms) => new Promise((resolve) => setTimeout(resolve, ms, null));

async function isAwake() {
  const asked = fetch(BUILD.small, { cache: "no-store", redirect: "manual" }).catch(() => null);
  const answer = await Promise.race([asked, after(PATIENCE_LIVE_MS)]);
  return answer !== null && answer.status < 500;
}

// The network's answer, unless there is none in time, or only a doorkeeper's whose machine is gone.
async function answered(request, isLive) {
  const asked = fetch(request);
  asked.catch(() => {}); // told below, where it is awaited
  let answer = await Promise.race([asked, after(isLive ? PATIENCE_LIVE_MS : PATIENCE_MS)]);
  while (answer === null) {
    if (isLive || !(await isAwake())) throw new Error("no answer");
    answer = await Promise.race([asked, after(PATIENCE_MS)]);
  }
  if ([502, 503, 504].includes(answer.status)) throw new Error("no answer");
  return answer;
}

async function page(request) {
  const { pathname } = new URL(request.url);
  if (pathname === BUILD.shell) return (await kept(BUILD.shell)) ?? fetch(request);
  try {
    return await answered(request, LIVE.test(pathname));
  } catch (error) {
    const shell = await kept(BUILD.shell);
    if (!shell) throw error;
    return shell;
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (FILES.has(address.pathname)) event.respondWith(kept(address.pathname).then((file) => file ?? fetch(request)));
});
{% endautoescape %}
