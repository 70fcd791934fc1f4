// Answers the page that checks certificates where there is no network, and nothing else. The page
// keeps itself, its style and its script (see verify.js); its keys stand in it.
"use strict";
const KEPT = "verify-1";
const page = (url) => url.pathname.toLowerCase() === "/verify";
const kept = async (request) => {
  const wanted = page(new URL(request.url)) ? "/verify" : request;
  return (await caches.match(wanted, { cacheName: KEPT, ignoreVary: true })) ?? Response.error();
};
addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil(clients.claim()));
addEventListener("fetch", (event) => {
  if (event.request.method !== "GET") return;
  event.respondWith(fetch(event.request).catch(() => kept(event.request)));
});
