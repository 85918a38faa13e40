// Keeps the app itself, and what was seen last, for when the server is not reached. Never answers a write.
// Files of the app: from the device (their names change with their content). Reads of the API: from the server first, the
// last answer when it is not reached, marked as kept. Clips, events, exports and secrets are never kept.
export {};
declare const self: ServiceWorkerGlobalScope;
declare const BUILD: string;
declare const SHELL: string[];

const shell = `lintel-shell-${BUILD}`;
const seen = 'lintel-seen-1';
const mostSeen = 300;
const neverKept = /^\/api\/v1\/(jobs|uploads|hand-off|audit|backups|tokens|people|imports|live)|\/(clip|events|export|fhir)$|\.(mp4|pdf|zip)$/;

self.addEventListener('install', (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(shell);
    await cache.addAll(SHELL.map((name) => new Request(name === '/index.html' ? '/' : name, { cache: 'reload' })));
    await self.skipWaiting();
  })());
});

self.addEventListener('activate', (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith('lintel-shell-') && name !== shell) await caches.delete(name);
    await self.clients.claim();
  })());
});

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin || request.headers.has('Range')) return;
  if (url.pathname.startsWith('/u/')) return;
  if (url.pathname.startsWith('/api/')) {
    if (!neverKept.test(url.pathname)) event.respondWith(fromServer(event, request));
    return;
  }
  event.respondWith(request.mode === 'navigate' ? page(request) : file(request));
});

async function page(request: Request): Promise<Response> {
  try {
    const answer = await fetch(request);
    if (answer.ok) return answer;
    throw new TypeError('not served');
  } catch {
    return (await (await caches.open(shell)).match('/')) ?? Response.error();
  }
}

async function file(request: Request): Promise<Response> {
  const cache = await caches.open(shell);
  return (await cache.match(request)) ?? fetch(request);
}

async function fromServer(event: FetchEvent, request: Request): Promise<Response> {
  const cache = await caches.open(seen);
  try {
    const answer = await fetch(request);
    if (answer.ok && answer.status === 200) event.waitUntil(keep(cache, request, answer.clone()));
    else if (answer.status === 401) event.waitUntil(caches.delete(seen)); // somebody else may sign in next
    return answer;
  } catch (error) {
    const kept = await cache.match(request, { ignoreVary: true });
    if (!kept) throw error;
    const headers = new Headers(kept.headers);
    headers.set('X-Lintel-Kept', '1');
    return new Response(await kept.blob(), { status: 200, headers });
  }
}

async function keep(cache: Cache, request: Request, answer: Response): Promise<void> {
  await cache.put(request, answer);
  const keys = await cache.keys();
  for (const old of keys.slice(0, Math.max(0, keys.length - mostSeen))) await cache.delete(old);
}
