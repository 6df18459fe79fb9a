// From a request to a page: journal what was typed, ask Python, keep what it made, then show the page.

import { Kept, note } from "./failure.js";
import { cached, damaged, sha256 } from "./precache.js";
import { python } from "./python.js";
import { randomHex } from "./random.js";
import { isFull } from "./room.js";
import * as store from "./store.js";

const TRIES = 5;
const DIGITS = 8192; // of randomness: a case code may bring hundreds of records at once, 20 digits each
const WAITS = [404, 409]; // the job is not here, or is damaged: what was typed for it waits
const NO_ENTRY = { id: undefined, mark: undefined };
const PATIENCE = 1000; // ms that the browser may take to say something of its storage
const AUTOMATIC = 3; // tries of an entry that nobody asked for: one that ends the worker must not end each one

/** @typedef {{[name: string]: string[]}} Form */

/** Entries of the journal whose answer is being made: they do not wait for anybody. */
const answering = new Set();

/** Requests that write go one after another, so that each sees the chain the one before left. */
let queue = Promise.resolve();

/**
 * A page; to show it writes nothing.
 * @param {URL} url
 * @returns {Promise<Response>}
 */
export const shown = (url) => ask("GET", url, {}, NO_ENTRY, () => true);

/**
 * @param {Request} request
 * @param {URL} url
 * @param {FormData} sent its fields
 * @returns {Promise<Response>}
 */
export async function answer(request, url, sent) {
  // A page that got no answer sends its form again under the same mark: it is answered once.
  const mark = request.headers.get("Layby-Mark") ?? crypto.randomUUID();
  const { entry, form } = await journalled(mark, url.pathname, await read(sent));
  if (entry !== undefined) answering.add(entry);
  try {
    const kept = (/** @type {number} */ status) => !WAITS.includes(status);
    return await inTurn(async () => (await answeredBefore(mark)) ?? ask("POST", url, form, { id: entry, mark }, kept));
  } catch (error) {
    throw new Kept(error, entry);
  } finally {
    if (entry !== undefined) answering.delete(entry);
  }
}

/** @param {string} mark */
async function answeredBefore(mark) {
  const location = await store.answered(mark);
  return location === undefined ? undefined : redirect(location);
}

/**
 * Into the journal with it: what was typed and its photos together. Photos that do not fit stay out, and Python says so.
 * @param {string} mark
 * @param {string} path
 * @param {{typed: Form, photos: (store.Photo & {field: string})[]}} read
 * @returns {Promise<{entry: number | undefined, form: Form}>} the entry's number, and what is asked of Python
 */
async function journalled(mark, path, { typed, photos }) {
  const write = async (/** @type {Form} */ form, /** @type {store.Photo[]} */ files) => {
    const entry = await store.journal({ mark, at: Date.now(), method: "POST", path, form }, files);
    return { entry, form };
  };
  const named = photos.map(({ field, sha256, size, type }) => ({
    [`${field}_sha256`]: [sha256],
    [`${field}_size`]: [String(size)],
    [`${field}_type`]: [type],
  }));
  try {
    return await write(Object.assign({}, typed, ...named), photos.map(({ field: _, ...photo }) => photo));
  } catch (error) {
    if (!photos.length || !isFull(error)) throw error;
    unkept = photos[0];
    return write({ ...typed, no_room: [unkept.sha256] }, []);
  }
}

/** Let Python write this phone's name into its chain, if it has one that is not there; else the next record does. */
export function sayName() {
  const [method, path] = ["POST", "/phone/name"];
  const said = inTurn(() => ask(method, new URL(path, self.location.origin), {}, NO_ENTRY, () => true));
  return said.catch((error) => note(error, { method, path, entry: undefined }));
}

/**
 * The last photo that did not fit, for as long as this worker lives: the person may still save it elsewhere.
 * @type {store.Photo | undefined}
 */
export let unkept;

/**
 * Ask again about everything that was typed and never answered.
 * @param {boolean} asked whether a person or an update wants it; else an entry is tried a few times only
 */
export async function replay(asked) {
  for (const entry of await store.journalled()) {
    if (!asked && (entry.tries ?? 0) >= AUTOMATIC) continue;
    const { id, mark, method, path, form } = entry;
    // Nobody sees this answer, so anything but an accepted entry stays.
    const accepted = (/** @type {number} */ status) => status === 200 || status === 303;
    await store.tried(entry);
    await inTurn(() => ask(method, new URL(path, self.location.origin), form, { id, mark }, accepted)).catch((error) => note(error, { method, path, entry: id }));
  }
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
    const [device, token, status] = await Promise.all([store.device(), store.formToken(), facts(url.pathname)]);
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
      token,
    });
    const rows = await store.rowsFor(JSON.parse(notebook.needs(request)));
    const reply = JSON.parse(notebook.answer(request, JSON.stringify(rows)));
    const { records: texts, device: after, location, remains, gone } = reply;
    const change = { texts, before: device, after, entry, ends: done(reply.status), location, remains, gone };
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

/**
 * What the pages say of this phone itself.
 * @param {string} path
 */
async function facts(path) {
  const [counts, times, waiting, sync, enrolled, restored, failure, signed, here] = await Promise.all([
    store.unsent(),
    store.unsentTimes(),
    store.journalled(),
    store.fact("sync"),
    store.fact("token"),
    store.fact("restored"),
    path === "/phone" ? store.fact("failure") : null,
    path === "/phone" || path.endsWith("/summary") ? store.fact("signed") : null,
    path === "/phone" ? storage() : {},
  ]);
  return {
    ...counts,
    unsent_times: times,
    waiting: waiting.filter(({ id }) => !answering.has(id)).length,
    enrolled: Boolean(enrolled),
    sync: sync ?? null,
    restored: restored ?? null,
    damaged: damaged(),
    failure: failure ?? null,
    heads: signed ? { [signed.device]: signed } : {},
    ...here,
  };
}

/** What the browser says of the storage. It may say nothing, and what it says of room left is not to be believed. */
async function storage() {
  const [promised, used, keyless, holdings] = await Promise.all([
    said(() => navigator.storage.persisted()),
    said(async () => (await navigator.storage.estimate()).usage),
    store.fact("keyless"),
    store.holdings(),
  ]);
  return { promised, used, keyless: Boolean(keyless), ...holdings };
}

/**
 * @template T
 * @param {() => Promise<T | undefined>} question
 * @returns {Promise<T | null>} null when there is no answer, or none in time
 */
function said(question) {
  const never = new Promise((/** @type {(value: null) => void} */ resolve) => setTimeout(resolve, PATIENCE, null));
  const asked = (async () => (await question()) ?? null)().catch(() => null);
  return Promise.race([asked, never]);
}

/**
 * The fields of a form, and its files with the hash they are stored under.
 * @param {FormData} sent
 */
async function read(sent) {
  /** @type {Form} */
  const typed = {};
  const photos = [];
  for (const [field, value] of sent) {
    if (typeof value === "string") (typed[field] ??= []).push(value);
    else if (value.size) photos.push({ field, ...(await photoOf(value)) });
  }
  return { typed, photos };
}

/**
 * @param {File} file
 * @returns {Promise<store.Photo>}
 */
async function photoOf(file) {
  const bytes = await file.arrayBuffer();
  return { sha256: await sha256(bytes), type: file.type, size: bytes.byteLength, bytes, unsent: Date.now() };
}

/** @param {URLSearchParams} params */
function listed(params) {
  /** @type {{[name: string]: string[]}} */
  const lists = {};
  for (const [name, value] of params) (lists[name] ??= []).push(value);
  return lists;
}
