// The worker: a reload without the server still shows the shell and the last picture. The server puts SHELL before this.
const PICTURES = "pictures", WAIT_MS = 3000;
let newer = false; // the server's pages are of another version: its files are asked for until the new worker stands

const fill = async () => {
  const cache = await caches.open(SHELL.version);
  await cache.addAll(SHELL.files.map((file) => new Request(file, { cache: "no-cache" })));
  await self.skipWaiting();
};
const take = async () => {
  for (const name of await caches.keys()) if (![SHELL.version, PICTURES].includes(name)) await caches.delete(name);
  await self.clients.claim();
};

async function file(request) {
  const kept = !newer && await caches.match(request, { cacheName: SHELL.version });
  return kept || fetch(request).catch(async () => (await caches.match(request)) ?? Response.error());
}

async function picture(request) {
  const kept = await caches.match(request.url, { cacheName: PICTURES });
  return kept && new Response(await kept.text(), { headers: SHELL.headers }); // the policy of the server holds for it too
}

// The server for three seconds, then the last picture; a server that answers no page at all counts as gone.
async function page(request) {
  const asked = fetch(request).then((answer) => {
    if ([401, 403, 410].includes(answer.status)) caches.delete(PICTURES); // not this screen's to see any more
    newer = (answer.headers.get("x-shell") ?? SHELL.version) !== SHELL.version;
    return answer.status < 500 && answer;
  }, () => null);
  const late = new Promise((resolve) => setTimeout(resolve, WAIT_MS));
  return (await Promise.race([asked, late])) || (await picture(request)) || (await asked) || Response.error();
}

self.addEventListener("install", (event) => event.waitUntil(fill()));
self.addEventListener("activate", (event) => event.waitUntil(take()));
self.addEventListener("fetch", (event) => {
  const { request } = event, { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== location.origin) return;
  if (pathname.startsWith("/static/")) event.respondWith(file(request));
  else if (request.mode === "navigate" && SHELL.live.includes(pathname.split("/")[1])) event.respondWith(page(request));
});
