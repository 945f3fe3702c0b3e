// Keeps the pages that were looked at, so that they can be read again without a connection. A browser
// takes this over TLS, and from its own machine; elsewhere a page is kept only as long as it is open.
"use strict";

const KEPT = "board-1";
// Common practice, no source: a week of days on a few brakes.
const PAGES_MOST = 60;

// With several sites, addresses begin with the site's part.
const within = (path) => path.replace(/^\/sites\/[^/]+(?=\/)/, "");
const isAsset = (path) => ["/board.css", "/board.js", "/favicon.svg"].includes(within(path));
const isPage = (path) =>
  ["/", "/wall"].includes(within(path)) || within(path).startsWith("/brakes/");

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (isAsset(url.pathname) || isPage(url.pathname)) event.respondWith(answer(request, url));
});

async function answer(request, url) {
  try {
    const fresh = await fetch(request);
    await keep(url, fresh);
    return fresh;
  } catch (error) {
    // A page that looks for news must hear that there is no connection.
    if (request.mode !== "navigate" && !isAsset(url.pathname)) throw error;
    const kept = await caches.match(url.href, { cacheName: KEPT });
    if (kept) return kept;
    throw error;
  }
}

async function keep(url, fresh) {
  const left = fresh.redirected || fresh.type === "opaqueredirect";
  if (left) {
    // Whoever is signed out reads no more.
    await caches.delete(KEPT);
    return;
  }
  if (!fresh.ok) return;
  const cache = await caches.open(KEPT);
  await cache.put(url.href, fresh.clone());
  const keys = await cache.keys();
  const pages = keys.filter((key) => isPage(new URL(key.url).pathname));
  for (const old of pages.slice(0, Math.max(0, pages.length - PAGES_MOST))) await cache.delete(old);
}
