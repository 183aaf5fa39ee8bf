// Keeps the bench working while the line is down: pages from a store of its own, and what was pressed until it is sent.
//
// Every form of the bench carries a key by which the server acts once, however often it is sent. So a press whose answer
// did not come is simply kept (IndexedDB) and sent again, with how long ago it was pressed. What the server then refuses
// is never guessed about: it is shown to whoever stands there, and later presses on the same step are held with it.
// Only this worker writes the store; pages ask it by messages.

/** `forget.js` takes it away. */
const PAGES = "bench-pages";
const FILES = "bench-files";

/** Milliseconds an answer may take before the line counts as lost: a page of which there is a copy; a press; anything else. */
const PATIENCE = { page: 8_000, press: 10_000, nothingWaits: 30_000 };

/** A copy younger than this need not be fetched ahead again. */
const FRESH = 60_000;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin) return;
  if (request.method === "GET" && pathname.startsWith("/pkg/")) event.respondWith(file(request));
  else if (pathname !== "/bench" && !pathname.startsWith("/bench/")) return;
  else if (request.method === "GET") event.respondWith(page(event, pathname));
  else if (request.method === "POST" && request.mode === "navigate") event.respondWith(press(request, pathname));
});

self.addEventListener("message", (event) => event.waitUntil(hear(event)));

async function hear({ data, source }) {
  // The page has heard from the shop by its stream of changes, or could not have it again.
  if (data.holds !== undefined) setLine(data.holds);
  if (data.do === "send") await send();
  if (data.do === "seen") await change("told", (told) => told.delete(data.n));
  if (data.do === "keep") await keepCopies(data.files, data.pages);
  const now = await state();
  if (data.do === "state") source?.postMessage(now);
  else await tellPages(now);
}

// --- what is read -----------------------------------------------------------------------------------------------------

/** A built file: its name stands for its content, so a kept one is as good as any. */
async function file(request) {
  const kept = await caches.match(request, { cacheName: FILES, ignoreVary: true });
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) (await caches.open(FILES)).put(request, answer.clone());
  return answer;
}

/** A page of the bench: as it stands, or, without the line, as it stood when it was last seen. */
async function page(event, pathname) {
  const kept = await caches.match(pathname, { cacheName: PAGES, ignoreVary: true });
  // What was pressed comes before what is shown.
  if (kept && (await count()) > 0) await send();
  try {
    const someoneWaits = kept && event.request.mode === "navigate";
    const answer = await within(someoneWaits ? PATIENCE.page : PATIENCE.nothingWaits, fetch(event.request));
    if (isDown(answer)) throw new Error("no answer of the shop's own");
    setLine(true);
    if (answer.ok && !answer.redirected) event.waitUntil(keepPage(pathname, answer.clone()));
    // Sent away to sign in: what was kept is not for whoever comes next.
    else if (answer.type === "opaqueredirect" || answer.redirected) event.waitUntil(caches.delete(PAGES));
    return answer;
  } catch (error) {
    setLine(false);
    if (kept) return await asKept(kept);
    if (event.request.mode !== "navigate") throw error;
    return new Response(NOT_KEPT, { status: 503, headers: { "content-type": "text/html; charset=utf-8" } });
  }
}

const NOT_KEPT = `<!DOCTYPE html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<meta name="color-scheme" content="dark light"><title>No connection</title><main><h1>No connection</h1>
<p>This page was never open on this device, so there is no copy of it here.</p><p><a href="/bench">To the bench</a></p></main>`;

async function keepPage(pathname, answer) {
  const headers = new Headers(answer.headers);
  headers.set("x-kept-at", String(Date.now()));
  const body = await answer.blob();
  await (await caches.open(PAGES)).put(pathname, new Response(body, { headers }));
}

/** A kept page says so itself, and since when. */
async function asKept(kept) {
  const at = kept.headers.get("x-kept-at");
  const html = (await kept.text()).replace("<head>", `<head><meta name="kept-at" content="${Number(at)}">`);
  return new Response(html, { headers: kept.headers });
}

/** Copies of the stations one may walk to, and of the files they need; files nothing needs any more go. */
async function keepCopies(files, pages) {
  const store = await caches.open(FILES);
  const wanted = new Set(files.map((path) => new URL(path, self.location.origin).href));
  const there = (await store.keys()).map(({ url }) => url);
  await Promise.all(there.filter((url) => !wanted.has(url)).map((url) => store.delete(url)));
  await Promise.allSettled([...wanted].filter((url) => !there.includes(url)).map((url) => store.add(url)));
  for (const path of new Set(pages)) {
    const kept = await caches.match(path, { cacheName: PAGES, ignoreVary: true });
    if (kept && Date.now() - Number(kept.headers.get("x-kept-at")) < FRESH) continue;
    const answer = await fetch(path).catch(() => null);
    if (answer?.ok && !answer.redirected) await keepPage(path, answer);
  }
}

// --- what is pressed --------------------------------------------------------------------------------------------------

/** A form of the bench: sent at once when nothing waits before it and the line holds, else kept. */
async function press(request, pathname) {
  const copy = request.clone();
  const station = pathname.split("/").slice(0, 3).join("/");
  if ((await count()) === 0 || (await send())) {
    try {
      const answer = await within(PATIENCE.press, fetch(request));
      if (!isDown(answer)) {
        setLine(true);
        return answer;
      }
    } catch {
      // Perhaps it arrived and only the answer was lost: its key makes it count once either way.
    }
  }
  setLine(false);
  await keep(copy, pathname, station);
  await tellPages(await state());
  return Response.redirect(station, 303);
}

async function keep(request, pathname, station) {
  const type = request.headers.get("content-type");
  const fields = await request.clone().formData();
  const text = (name) => String(fields.get(name) ?? "");
  const one = {
    url: pathname,
    station,
    type,
    body: await request.arrayBuffer(),
    form: pathname.split("/").at(-1),
    about: text("operation") || text("piece") || text("setup"),
    person: text("pressed-by"),
    words: text("pressed-words") || pathname.split("/").at(-1),
    at: Date.now(),
  };
  await change("unsent", (unsent) => unsent.add(one));
}

let sending;

/** Sends what is kept, in order; one sending at a time. True: the line holds (what is left waits for its person). */
function send() {
  sending ??= sendAll().finally(() => {
    sending = undefined;
  });
  return sending;
}

async function sendAll() {
  const waits = new Set();
  for (;;) {
    const one = (await all("unsent")).find(({ n, about }) => !waits.has(n) && !waits.has(about));
    if (!one) return true;
    let answer;
    try {
      answer = await within(PATIENCE.press, post(one));
    } catch {
      setLine(false);
      return false;
    }
    if (isDown(answer) || answer.status === 429) {
      setLine(false);
      return false;
    }
    setLine(true);
    if (answer.status === 401 || answer.status === 403) {
      // Somebody else is signed in, or nobody: it waits for whoever pressed it, and with it what follows on that step.
      waits.add(one.n).add(one.about);
      await change("unsent", (unsent) => unsent.put({ ...one, waits: true }));
      continue;
    }
    if (answer.ok) await change("unsent", (unsent) => unsent.delete(one.n));
    else await tell(one, await sentence(answer));
    await tellPages(await state());
  }
}

function post({ url, type, body, at, person }) {
  const ago = Math.max(0, Math.round((Date.now() - at) / 1000));
  const headers = { "content-type": type, accept: "application/json", "x-pressed-ago": String(ago), "x-pressed-by": person };
  return fetch(url, { method: "POST", body, headers });
}

async function sentence(answer) {
  const said = await answer.json().catch(() => ({}));
  return said.error ?? `The shop answered with ${answer.status}.`;
}

/** The server refused it: a person has to look. What was pressed after it on the same step was built on it. */
async function tell(one, why) {
  const later = (await all("unsent")).filter(({ n, about }) => n > one.n && about === one.about);
  const told = [{ ...one, why }, ...later.map((next) => ({ ...next, why: "Not sent, because the press before it was refused." }))];
  await change("told", (store) => told.forEach(({ n, words, at, why: reason }) => store.put({ n, words, at, why: reason })));
  await change("unsent", (unsent) => told.forEach(({ n }) => unsent.delete(n)));
}

// --- the line ---------------------------------------------------------------------------------------------------------

let line = true;

function setLine(holds) {
  if (line === holds) return;
  line = holds;
  state().then(tellPages);
}

/** A proxy answers for a shop that is not there. */
function isDown({ status }) {
  return status === 502 || status === 503 || status === 504;
}

function within(ms, promise) {
  const late = new Promise((_, fail) => setTimeout(() => fail(new Error("too slow")), ms));
  return Promise.race([promise, late]);
}

async function state() {
  const strip = ({ n, station, form, about, person, words, at, waits }) => ({ n, station, form, about, person, words, at, waits });
  return { line, unsent: (await all("unsent")).map(strip), told: await all("told") };
}

async function tellPages(now) {
  for (const client of await self.clients.matchAll({ type: "window" })) client.postMessage(now);
}

// --- the store --------------------------------------------------------------------------------------------------------

let opened;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open("bench", 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("unsent", { keyPath: "n", autoIncrement: true });
      request.result.createObjectStore("told", { keyPath: "n" });
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  return opened;
}

async function all(name) {
  const request = (await open()).transaction(name).objectStore(name).getAll();
  return await new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

async function count() {
  return (await all("unsent")).length;
}

/** Resolves once the change is on the disk, as far as a browser promises that. */
async function change(name, work) {
  const transaction = (await open()).transaction(name, "readwrite", { durability: "strict" });
  work(transaction.objectStore(name));
  await new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}
