// From a request to a page: journal what was typed, ask Python, keep what it made, then show the page.

import { cached, sha256 } from "./precache.js";
import { python } from "./python.js";
import { randomHex } from "./random.js";
import * as store from "./store.js";

const TRIES = 5;
const DIGITS = 4096; // of randomness: a case code may bring more than a hundred records at once
const WAITS = [404, 409]; // the job is not here, or is damaged: what was typed for it waits
const NO_ENTRY = { id: undefined, mark: undefined };

/** Requests that write go one after another, so that each sees the chain the one before left. */
let queue = Promise.resolve();

/**
 * @param {Request} request
 * @param {URL} url
 * @returns {Promise<Response>}
 */
export async function answer(request, url) {
  if (request.method === "GET" || request.method === "HEAD") return ask("GET", url, {}, NO_ENTRY, () => true);
  const form = await read(request);
  // A page that got no answer sends its form again under the same mark: it is answered once.
  const mark = request.headers.get("Layby-Mark") ?? crypto.randomUUID();
  const entry = await store.journal({ mark, at: Date.now(), method: "POST", path: url.pathname, form });
  try {
    const kept = (/** @type {number} */ status) => !WAITS.includes(status);
    return await inTurn(async () => (await answeredBefore(mark)) ?? ask("POST", url, form, { id: entry, mark }, kept));
  } catch (error) {
    throw new Kept(error);
  }
}

/** @param {string} mark */
async function answeredBefore(mark) {
  const location = await store.answered(mark);
  return location === undefined ? undefined : redirect(location);
}

/** The request failed, but what was typed is in the journal. */
export class Kept extends Error {
  /** @param {unknown} cause */
  constructor(cause) {
    super("The answer failed; the entry is kept.", { cause });
  }
}

/**
 * Ask again about everything that was typed and never answered: after an update, or at the next start.
 * @returns {Promise<number>} how many entries still wait
 */
export async function replay() {
  for (const { id, mark, method, path, form } of await store.journalled()) {
    // Nobody sees this answer, so anything but an accepted entry stays.
    const accepted = (/** @type {number} */ status) => status === 200 || status === 303;
    await inTurn(() => ask(method, new URL(path, self.location.origin), form, { id, mark }, accepted)).catch(() => {});
  }
  return (await store.journalled()).length;
}

/**
 * @template T
 * @param {() => Promise<T>} work
 * @returns {Promise<T>}
 */
function inTurn(work) {
  const turn = queue.then(work);
  queue = turn.then(
    () => {},
    () => {},
  );
  return turn;
}

/**
 * @param {string} method
 * @param {URL} url
 * @param {{[name: string]: string[]}} form
 * @param {{id?: number, mark?: string}} entry the journal's number of this request, and its page's mark for it
 * @param {(status: number) => boolean} done whether an answer of this status ends the entry
 * @returns {Promise<Response>}
 */
async function ask(method, url, form, entry, done) {
  const notebook = await python();
  for (let attempt = 0; attempt < TRIES; attempt += 1) {
    const [device, status] = await Promise.all([store.device(), facts()]);
    const request = JSON.stringify({
      method,
      path: url.pathname,
      query: listed(url.searchParams),
      form,
      now: Date.now(),
      zone: -new Date().getTimezoneOffset(),
      random: randomHex(DIGITS),
      host: "phone",
      base: "",
      device,
      status,
    });
    const rows = await store.rowsFor(JSON.parse(notebook.needs(request)));
    const reply = JSON.parse(notebook.answer(request, JSON.stringify(rows)));
    const change = { texts: reply.records, before: device, after: reply.device, entry, ends: done(reply.status), location: reply.location };
    if (method === "GET" || (await store.commit(change))) return await pageOf(reply);
  }
  throw new Error("Too many requests at once wrote to this phone's notebook.");
}

/**
 * @param {{status: number, location: string, type: string, body: string}} reply
 */
async function pageOf({ status, location, type, body }) {
  if (location) return redirect(location);
  const headers = { "Content-Type": type, "Cache-Control": "no-store", "Content-Security-Policy": await policy() };
  return new Response(body, { status, headers });
}

/** @param {string} location */
const redirect = (location) => Response.redirect(new URL(location, self.location.origin).href, 303);

/** The pages Python makes are held to the same rules as those the server sends. */
async function policy() {
  return (await cached("/index.html")).headers.get("Content-Security-Policy") ?? "default-src 'self'";
}

/** What the pages say of this phone itself. */
async function facts() {
  const [counts, waiting, sync, enrolled, restored] = await Promise.all([
    store.unsent(),
    store.journalled(),
    store.fact("sync"),
    store.fact("token"),
    store.fact("restored"),
  ]);
  return { ...counts, waiting: waiting.length, enrolled: Boolean(enrolled), sync: sync ?? null, restored: restored ?? null };
}

/**
 * The fields of a form. A file is stored under its hash before anything else happens, and stands in the
 * form as that hash, its size and its type.
 * @param {Request} request
 * @returns {Promise<{[name: string]: string[]}>}
 */
async function read(request) {
  /** @type {{[name: string]: string[]}} */
  const form = {};
  for (const [name, value] of await request.formData()) {
    if (typeof value === "string") (form[name] ??= []).push(value);
    else if (value.size) Object.assign(form, await keep(name, value));
  }
  return form;
}

/**
 * @param {string} name
 * @param {File} file
 */
async function keep(name, file) {
  const bytes = await file.arrayBuffer();
  const hash = await sha256(bytes);
  await store.keepPhoto({ sha256: hash, type: file.type, size: bytes.byteLength, bytes, unsent: 1 });
  return { [`${name}_sha256`]: [hash], [`${name}_size`]: [String(bytes.byteLength)], [`${name}_type`]: [file.type] };
}

/** @param {URLSearchParams} params */
function listed(params) {
  /** @type {{[name: string]: string[]}} */
  const lists = {};
  for (const [name, value] of params) (lists[name] ??= []).push(value);
  return lists;
}
