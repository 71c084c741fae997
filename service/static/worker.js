// Keeps one link's own pages on the phone for when there is no network. KEPT (its addresses, and how long an answer is waited for) is written above
// this file by the service.
// What a family notes is never kept here: the page itself does that (family.js), where it can be shown.

const STORE = `pages of ${KEPT.home}`;

self.addEventListener("install", event => {
  self.skipWaiting();
  event.waitUntil(caches.open(STORE).then(store => store.addAll([...KEPT.pages, ...KEPT.files])));
});

self.addEventListener("activate", event => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", event => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== location.origin) return;
  if (event.request.mode === "navigate") {
    const asked = fromClinic(event.request, address);
    event.respondWith(page(asked, address));
    event.waitUntil(asked.catch(() => {})); // an answer that comes too late to be shown is kept all the same
    if (address.pathname === KEPT.home && address.search) event.waitUntil(renew()); // something was noted: the kept page is to say so too
  }
  if (address.pathname.startsWith("/static/")) event.respondWith(file(event.request));
});

// The network first; the kept page where there is none, or where it stays silent.
async function page(asked, address) {
  try {
    return await (isKept(address) ? soonEnough(asked) : asked);
  } catch (noNetwork) {
    return (await keptPage(address.pathname)) ?? (await keptPage(KEPT.home)) ?? asked.catch(() => Response.error());
  }
}

const isKept = address => KEPT.pages.includes(address.pathname) && !address.search;

const soonEnough = answer => Promise.race([answer, new Promise((_, fail) => setTimeout(fail, KEPT.patience_ms))]);

// Marked as such, so that it can say of which day it is.
async function keptPage(path) {
  const kept = await caches.match(path, { cacheName: STORE });
  if (!kept) return undefined;
  const html = (await kept.text()).replace("<html", "<html data-kept");
  return new Response(html, { headers: kept.headers });
}

// A link that was closed takes its pages with it.
async function fromClinic(request, address) {
  const answer = await fetch(request);
  if (isKept(address) && answer.ok && !answer.redirected) await (await caches.open(STORE)).put(address.pathname, answer.clone());
  if (answer.status === 404 && KEPT.pages.includes(address.pathname)) {
    await caches.delete(STORE);
    await self.registration.unregister();
  }
  return answer;
}

async function renew() {
  if (!(await caches.has(STORE))) return;
  const store = await caches.open(STORE);
  await store.add(KEPT.home).catch(() => {}); // no network: it stays as it is
}

async function file(request) {
  const store = await caches.open(STORE);
  const kept = await store.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) await store.put(request, answer.clone());
  return answer;
}

// A push is shown, and its page opened when it is tapped. The same tag again takes the place of the one that is there.
self.addEventListener("push", event => {
  const { title, body, url, tag, lang } = event.data.json();
  event.waitUntil(self.registration.showNotification(title, { body, tag, lang, data: { url } }));
});

self.addEventListener("notificationclick", event => {
  event.notification.close();
  event.waitUntil(self.clients.openWindow(event.notification.data.url));
});
