// The service worker: the app's own little server. It answers every page without a network.

import { answer, replay, sayName, shown, unkept } from "./answer.js";
import { exported, takenIn } from "./carry.js";
import { NAME_LENGTH, SERVER } from "./contract.js";
import { Kept, note } from "./failure.js";
import { formOf, isFetch, NotOurs, writes } from "./own.js";
import { mediaType } from "./pictures.js";
import { cached, checkAll, damaged, dropOthers, fill, lookUp, version } from "./precache.js";
import { isFull } from "./room.js";
import { freeSent, isKept, photo, rename, reserve } from "./store.js";
import { enrol, fetchPhoto, isDue, sync } from "./sync.js";

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));

/** When even the page that says what went wrong is damaged, and there is no signal. */
const LAST_WORDS = `<!doctype html><title>Layby</title><h1>Layby is damaged on this phone</h1>
<p>Files of the app are damaged. Open Layby again where there is signal: it mends itself. If you were saving something,
go back: what you typed is still in the form. <a href="/rescue.html">See and save what is stored here</a></p>`;

worker.addEventListener("install", (event) => {
  if (__DEV__) void worker.skipWaiting();
  event.waitUntil(fill((done, total) => tell({ kind: "progress", done, total })));
});

worker.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      await worker.clients.claim();
      await dropOthers();
      await tell({ kind: "ready", version });
      await replay(true);
    })(),
  );
});

worker.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== worker.location.origin || isServers(url.pathname)) return;
  event.respondWith(respond(event.request, url).then((answer) => marked(event.request, answer)));
});

worker.addEventListener("message", (event) => {
  if (event.data === "take") worker.skipWaiting();
  if (event.data === "sync") event.waitUntil(Promise.all([synced(), awake()]));
});

// Chromium only; the page asks on every other occasion (static/page.js).
worker.addEventListener("sync", (/** @type {any} */ event) => event.waitUntil(synced()));

/**
 * @param {Request} request
 * @param {URL} url
 * @returns {Promise<Response>}
 */
async function respond(request, url) {
  try {
    return await (writes(request) ? written(request, url) : read(request, url));
  } catch (error) {
    if (error instanceof NotOurs) return await plain("other-site", 403);
    console.error(error);
    const lost = writes(request) && !(error instanceof Kept);
    const entry = error instanceof Kept ? error.entry : undefined;
    const told = isNewer(error) ? "" : await note(error, { method: request.method, path: url.pathname, entry });
    if (__DEV__) return tracebackPage(told);
    return plain(failure(error, lost), 500);
  }
}

/**
 * @param {Request} request
 * @param {URL} url
 */
async function written(request, url) {
  if (url.pathname === "/files" && isFetch(request)) return takenIn(request);
  const form = await formOf(request);
  return url.pathname.startsWith("/phone/") ? ownForm(form, url) : answer(request, url, form);
}

/**
 * @param {Request} request
 * @param {URL} url
 */
async function read(request, url) {
  const kept = url.pathname === "/" ? undefined : await lookUp(url.pathname);
  if (kept) return kept;
  if (url.pathname.startsWith("/photo/")) return photoFile(url.pathname.slice("/photo/".length), request);
  if (url.pathname.startsWith("/sent/")) return new Response((await isKept(url.pathname.slice("/sent/".length))) ? "kept" : "not kept");
  if (url.pathname.startsWith("/files/")) return exported(url.pathname.slice("/files/".length));
  return shown(url);
}

/**
 * A page that stands ready, without Python.
 * @param {string} name
 * @param {number} status
 */
async function plain(name, status) {
  const page = await cached(`/${name}.html`).catch(() => new Response(LAST_WORDS, { headers: { "Content-Type": "text/html" } }));
  return new Response(page.body, { status, headers: page.headers });
}

/** @param {string} told */
function tracebackPage(told) {
  const text = told.replaceAll("&", "&amp;").replaceAll("<", "&lt;");
  const page = `<!doctype html><title>Failed</title><body data-host="phone"><pre>${text}</pre><script src="/static/dev.js" type="module"></script>`;
  return new Response(page, { status: 500, headers: { "Content-Type": "text/html" } });
}

/**
 * Whether the shop's server answers this address itself; every other one on this origin is the notebook's.
 * @param {string} path
 */
function isServers(path) {
  return SERVER.some((place) => path === place || path.startsWith(`${place}/`));
}

/**
 * Whether a newer version of the app has changed the database; nothing of it was touched.
 * @param {unknown} error
 */
function isNewer(error) {
  return error instanceof DOMException && error.name === "VersionError";
}

/**
 * The page that says what is wrong.
 * @param {unknown} error
 * @param {boolean} lost whether a form was sent and nothing of it is kept
 */
function failure(error, lost) {
  if (isNewer(error)) return "newer";
  if (lost) return isFull(error) ? "full" : "not-stored";
  return damaged() ? "files-damaged" : "failed";
}

/**
 * A page's script must be able to tell the worker's answer from the server's (static/sent.js).
 * @param {Request} request
 * @param {Response} answer
 */
function marked(request, answer) {
  const asks = ["HX-Request", "HX-History-Restore-Request"].some((name) => request.headers.has(name));
  if (!asks || answer.redirected || answer.status === 303) return answer;
  const headers = new Headers(answer.headers);
  headers.set("Layby-Host", "phone");
  return new Response(answer.body, { status: answer.status, headers });
}

/**
 * The phone's own forms, which need the network or no notebook.
 * @param {FormData} form
 * @param {URL} url
 */
async function ownForm(form, url) {
  const name = [...String(form.get("name") ?? "").trim()].slice(0, NAME_LENGTH).join("");
  if (url.pathname === "/phone/enrol") await enrol(String(form.get("code") ?? "").trim(), name, sayName);
  else if (url.pathname === "/phone/name" && name) await rename(name).then(sayName);
  else if (url.pathname === "/phone/retry") await replay(true);
  else if (url.pathname === "/phone/free") await freeSent();
  else await synced();
  return Response.redirect(new URL("/phone", worker.location.origin).href, 303);
}

/**
 * A photo, with every right taken from it in case it is something else as well; what is no picture is a download.
 * @param {string} hash
 * @param {Request} request
 */
async function photoFile(hash, request) {
  const refused = unkept?.sha256 === hash ? unkept : undefined;
  // An address may be opened by another site, so that keeps nothing.
  const fetched = () => fetchPhoto(hash, isFetch(request)).catch(() => "not_here");
  const kept = (await photo(hash)) ?? refused ?? (await fetched());
  if (kept === "damaged") return cached("/static/photo-damaged.svg");
  const type = typeof kept === "string" ? "" : mediaType(kept.bytes);
  if (typeof kept === "string" || (!type && request.destination === "image")) return cached("/static/photo-not-here.svg");
  const headers = new Headers({
    "Content-Type": type || "application/octet-stream",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "no-store",
  });
  if (!type) headers.set("Content-Disposition", `attachment; filename="${kept.sha256.slice(0, 16)}.bin"`);
  return new Response(kept.bytes, { headers });
}

/** @type {Promise<void> | undefined} */
let awoken;

/** Once in a worker's life, after the first page: what a killed browser left, what rotted, what was used up. */
function awake() {
  awoken ??= (async () => {
    await replay(false);
    await checkAll();
    await reserve();
  })();
  return awoken;
}

async function synced() {
  await sync();
  await tell({ kind: "synced", due: await isDue() });
}

/** @param {object} news */
async function tell(news) {
  for (const client of await worker.clients.matchAll({ includeUncontrolled: true })) client.postMessage(news);
}
