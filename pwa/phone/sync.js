// Sends what the server lacks and fetches what this phone lacks. Safe to cut anywhere and to repeat.

import { ANSWER_SIZE, ENROL, FORK, PHOTOS, PROTOCOL, SENT_RECORDS, SYNC, UPLOADS } from "./contract.js";
import { forked } from "./fork.js";
import * as keys from "./keys.js";
import { sha256 } from "./precache.js";
import { isFull } from "./room.js";
import * as store from "./store.js";

const NOTHING_NEW = 204;
const GONE = 410;
const PATIENCE = 30_000; // ms until a request counts as lost
const LONGEST_WAIT = 24 * 3600_000; // ms
// Bytes that one request carries, either way. A request that has all of them to carry in PATIENCE must come
// through on 20 kbit/s with a third of it lost.
const [LEAST, FIRST, MOST] = [8 * 1024, 256 * 1024, ANSWER_SIZE];
const FULL =
  "This phone is full: there is no room for what others wrote. What was written here is sent. " +
  "Free the photos that the shop has, or other things on this phone, and send again.";

const NOT_THE_SHOPS = "The shop's own signature does not fit what it signed. Tell whoever runs the server.";

const encoder = new TextEncoder();

/** @typedef {string | [string, string, number]} Short a record's text, or one without the hash in it */

/** @type {Promise<void> | undefined} */
let running;

/**
 * Exchange records until both sides have all, then send photos. Two calls at once share one run.
 * @returns {Promise<void>} always settles; the outcome is kept as the fact "sync" and shown on screen
 */
export function sync() {
  running ??= whenAllowed()
    .then(
      note,
      async (error) => {
        // Shut out, or the shop's store is new: the page "This phone" asks for a code again.
        if (error instanceof Refusal && error.status === 401) await store.setFact("token", "");
        const until = error instanceof Refusal && error.wait ? Date.now() + 1000 * error.wait : 0;
        return note({ ok: false, message: sayWhy(error), until });
      },
    )
    .finally(() => {
      running = undefined;
    });
  return running;
}

/** @returns {Promise<boolean>} whether trying again may bring something about */
export async function isDue() {
  const [token, last, left] = await Promise.all([store.fact("token"), store.fact("sync"), store.unsent()]);
  if (last?.until > Date.now()) return false;
  return Boolean(token) && (!last?.ok || left.unsent_notes + left.unsent_photos > 0);
}

/**
 * Trade a one-time code for this phone's own token.
 * @param {string} code
 * @param {string} name whose phone this is
 * @param {() => Promise<unknown>} sayName writes the record of it
 */
export async function enrol(code, name, sayName) {
  if (name) await store.rename(name);
  const device = await store.device();
  try {
    const asked = { code, device: device.id, name: device.name, key: await keys.publicKey() };
    const { token } = await call(ENROL, asked, "");
    await store.setFact("token", token);
    await sayName();
  } catch (error) {
    return note({ ok: false, message: sayWhy(error) });
  }
  return sync();
}

/** @param {{ok: boolean, message?: string, refused?: any[], gaps?: any[], skew?: number, unsigned?: string, until?: number}} outcome */
async function note(outcome) {
  const last = await store.fact("sync");
  const at = Date.now();
  await store.setFact("sync", { refused: [], gaps: [], message: "", unsigned: "", until: 0, ...outcome, at, good: outcome.ok ? at : (last?.good ?? 0) });
}

/** @param {unknown} error */
function sayWhy(error) {
  if (error instanceof Refusal) return error.message;
  if (isFull(error)) return FULL;
  return "No answer from the shop's server. Everything stays safe on this phone; it is tried again when there is signal.";
}

/** The server answered, and the answer is no. */
class Refusal extends Error {
  /**
   * @param {number} status
   * @param {string} message
   * @param {number} wait seconds that the server asks to be left in peace
   */
  constructor(status, message, wait = 0) {
    super(message);
    this.status = status;
    this.wait = wait;
  }
}

/** Asks the server again no sooner than it said; a clock that jumped does not make the phone wait for ever. */
async function whenAllowed() {
  const last = await store.fact("sync");
  const left = (last?.until ?? 0) - Date.now();
  if (left > 0 && left <= LONGEST_WAIT) throw new Refusal(429, last.message, left / 1000);
  return exchange();
}

async function exchange() {
  const token = await store.fact("token");
  if (!token) throw new Refusal(401, "This phone is not enrolled yet. Ask the shop for a code.");
  const { full, ...said } = await exchangeRecords(token);
  const photos = await sendPhotos(await store.fact("token"));
  const left = await store.unsent(); // what was refused waits here, and so may a photo
  const ok = !full && left.unsent_notes + left.unsent_photos === 0;
  return { ...said, refused: [...said.refused, ...photos], ok, message: full ? FULL : "" };
}

/**
 * @param {string} token
 * @returns {Promise<{refused: object[], gaps: object[], skew: number, unsigned: string, full: boolean}>} `skew`: ms that
 *   this phone's clock is ahead; `unsigned`: why the shop took no signature; `full`: no room for what others wrote
 */
async function exchangeRecords(token) {
  for (;;) {
    const unsent = await store.unsentRows(SENT_RECORDS);
    const { id: device, seq, head } = await store.device();
    const [cursor, epoch] = [(await store.fact("cursor")) ?? 0, (await store.fact("epoch")) ?? ""];
    const [acked, mark] = [await store.acked(device), (await store.fact("mark")) ?? ""];
    const { rows, said } = await carrying(async (room) => {
      const rows = batchOf(unsent, room);
      const records = rows.map((row) => row.text);
      const signed = await signedEnd(rows, { device, seq, head });
      const asked = { protocol: PROTOCOL, device, epoch, cursor, records, seq, room, short: true, signed, acked, mark };
      // A server of another version may say less or more than this one asks for.
      const nothing = { epoch, cursor, mark, taken: [], refused: [], records: [], contradicted: [], gone: [], asked_back: [], gaps: [], more: false };
      const said = { ...nothing, ...(await call(SYNC, asked, token)) };
      return { answer: { rows, said }, carried: Math.max(sizeOf(records), sizeOf(said.records)) };
    });
    // Another epoch is another store (a restored backup, say), and one that is behind was put back to what it was
    // earlier: it may lack what it took.
    const renewed = said.behind || (epoch && said.epoch !== epoch);
    if (renewed) await store.offerAgain(device);
    await store.askedBack(said.asked_back);
    const taken = said.taken === "all" ? rows.map((row) => row.id) : said.taken;
    const full = await keepAnswer({ ...said, taken });
    const unsigned = await keepSigned(said, device);
    const done = taken.length === 0 || (await store.unsent()).unsent_notes === 0;
    if (((renewed || said.more) && !full) || !done) continue;
    const restored = said.here && (await forked(said.here, (plan) => call(FORK, plan, token)));
    const skew = said.time ? Date.now() - said.time : 0;
    if (!restored) return { refused: said.refused, gaps: said.gaps, skew, unsigned, full };
    token = await store.fact("token");
  }
}

/**
 * @param {any} said
 * @returns {Promise<boolean>} whether there was room only for what the server took, and none for what others wrote
 */
async function keepAnswer({ taken, records, contradicted, gone, time, cursor, epoch, mark }) {
  try {
    await store.exchange({ taken, texts: await whole(records), contradicted, gone, time, facts: { cursor, epoch, mark } });
    return false;
  } catch (error) {
    if (!isFull(error)) throw error;
    await store.exchange({ taken, texts: [], contradicted: [], gone, time, facts: {} });
    return true;
  }
}

/**
 * Where this phone's chain is once the server has these records, signed; undefined when that is signed already.
 * @param {store.Row[]} rows
 * @param {{device: string, seq: number, head: string}} end of the whole chain
 */
async function signedEnd(rows, { device, seq, head }) {
  const last = rows.at(-1);
  if (last) return keys.sign(device, last.seq, await linkOf(last.text));
  const before = /** @type {keys.Countersigned | undefined} */ (await store.fact("signed"));
  return seq > (before?.seq ?? 0) ? keys.sign(device, seq, head) : undefined;
}

/**
 * The hash that the next record carries, as records.link in Python: what was withdrawn says which hash it had.
 * @param {string} text
 * @returns {Promise<string>}
 */
async function linkOf(text) {
  return JSON.parse(text).withdrawn ?? sha256(encoder.encode(text).buffer);
}

/**
 * Keep what the shop countersigned: so a shop that rewrites its history can be proven wrong.
 * @param {{signed?: keys.Countersigned, unsigned?: {error: string, message: string}}} said
 * @param {string} device
 * @returns {Promise<string>} why the newest entries are not signed, "" when they are or it mends itself
 */
async function keepSigned({ signed, unsigned }, device) {
  if (unsigned) return unsigned.error === "not_here" ? "" : unsigned.message;
  if (!signed) return "";
  if (signed.device !== device || !(await keys.isCountersigned(signed).catch(() => false))) return NOT_THE_SHOPS;
  await store.keepSigned(signed);
  return "";
}

/**
 * One request, as large as the line bears: half as large after one that was lost, twice as large after one that
 * was full and quick.
 * @template T
 * @param {(room: number) => Promise<{answer: T, carried: number}>} send
 * @returns {Promise<T>}
 */
async function carrying(send) {
  const room = (await store.fact("room")) ?? FIRST;
  const begun = Date.now();
  try {
    const { answer, carried } = await send(room);
    const quick = Date.now() - begun < PATIENCE / 4;
    if (quick && carried > room / 2 && room < MOST) await store.setFact("room", 2 * room);
    return answer;
  } catch (error) {
    if (!(error instanceof Refusal) && room > LEAST) await store.setFact("room", room / 2);
    throw error;
  }
}

/**
 * The server leaves out the hash of an earlier record of the same answer: [before it, behind it, places back].
 * @param {Short[]} records
 * @returns {Promise<string[]>} their texts
 */
async function whole(records) {
  /** @type {string[]} */
  const texts = [];
  for (const item of records) {
    if (typeof item === "string") texts.push(item);
    else texts.push(item[0] + (await sha256(encoder.encode(texts.at(-item[2])).buffer)) + item[1]);
  }
  return texts;
}

/**
 * @param {store.Row[]} rows
 * @param {number} room
 * @returns {store.Row[]} as many from the start as one request may carry, at least one
 */
function batchOf(rows, room) {
  let size = 0;
  return rows.filter((row, index) => (size += row.text.length) <= room || index === 0);
}

/** @param {Short[]} records */
function sizeOf(records) {
  return records.reduce((size, item) => size + (typeof item === "string" ? item.length : item[0].length + item[1].length), 0);
}

/**
 * @param {string} token
 * @returns {Promise<object[]>} photos the server does not want, and why; they stay here
 */
async function sendPhotos(token) {
  const refused = [];
  for (const hash of await store.unsentPhotos()) {
    const photo = await store.photo(hash);
    try {
      if (photo) await sendPhoto(photo, token);
      await store.photoSent(hash, await isGiven(hash, token));
    } catch (error) {
      if (!(error instanceof Refusal) || error.status === 401 || error.status >= 500) throw error;
      if (error.status === GONE) await store.dropPhoto(hash); // it was withdrawn
      if (error.status === GONE || error.status === 409) continue; // 409: an older request of ours got further; the next sync finds how far
      refused.push({ seq: 0, message: `A photo was not taken: ${error.message}` });
    }
  }
  return refused;
}

/**
 * Whether the server gives a photo back: one that no browser can show it only keeps.
 * @param {string} hash
 * @param {string} token
 */
async function isGiven(hash, token) {
  const headers = { Authorization: `Bearer ${token}` };
  const asked = { method: "HEAD", headers, signal: AbortSignal.timeout(PATIENCE) };
  return (await fetch(`${PHOTOS}/${hash}`, asked)).ok;
}

/**
 * One photo by tus 1.0 (core, creation, checksum). Creating it again answers with how much is there, so
 * a cut upload goes on where it was.
 * @param {store.Photo} photo
 * @param {string} token
 */
async function sendPhoto(photo, token) {
  const metadata = `sha256 ${btoa(photo.sha256)},type ${btoa(photo.type)}`;
  const headers = { "Upload-Length": String(photo.size), "Upload-Metadata": metadata };
  const made = await tus(UPLOADS, "POST", token, headers);
  const place = new URL(made.headers.get("Location") ?? "", self.location.origin).href;
  let offset = Number(made.headers.get("Upload-Offset") ?? 0);
  while (offset < photo.size) {
    offset = await carrying(async (room) => {
      const chunk = photo.bytes.slice(offset, offset + room);
      return { answer: await sendChunk(place, token, offset, chunk), carried: chunk.byteLength };
    });
  }
}

/**
 * @param {string} place
 * @param {string} token
 * @param {number} offset
 * @param {ArrayBuffer} chunk
 * @returns {Promise<number>} the offset reached
 */
async function sendChunk(place, token, offset, chunk) {
  const sum = btoa(String.fromCharCode(...new Uint8Array(await crypto.subtle.digest("SHA-256", chunk))));
  const headers = {
    "Content-Type": "application/offset+octet-stream",
    "Upload-Offset": String(offset),
    "Upload-Checksum": `sha256 ${sum}`,
  };
  const sent = await tus(place, "PATCH", token, headers, chunk);
  return Number(sent.headers.get("Upload-Offset"));
}

/**
 * A photo that another phone took.
 * @param {string} hash
 * @param {boolean} kept whether it stays here from now on
 * @returns {Promise<store.Photo | string>} why there is none: "not_here", or "damaged" when the shop asks it back
 */
export async function fetchPhoto(hash, kept) {
  const token = await store.fact("token");
  if (!token) return "not_here";
  const stop = new AbortController();
  const response = await fetch(`${PHOTOS}/${hash}`, { headers: { Authorization: `Bearer ${token}` }, signal: stop.signal });
  if (!response.ok || !response.body) return (await response.json()).error;
  const bytes = await allOf(response.body, stop);
  if ((await sha256(bytes)) !== hash) return "damaged";
  const type = response.headers.get("Content-Type") ?? "application/octet-stream";
  const photo = { sha256: hash, type, size: bytes.byteLength, bytes };
  if (kept) await store.keepPhoto(photo, true).catch(() => {}); // shown all the same
  return photo;
}

/**
 * A stream's bytes, however slowly they come; it counts as lost once nothing more has come for PATIENCE.
 * @param {ReadableStream<Uint8Array<ArrayBuffer>>} stream
 * @param {AbortController} stop
 */
async function allOf(stream, stop) {
  const parts = [];
  const reader = stream.getReader();
  for (;;) {
    const lost = setTimeout(() => stop.abort(), PATIENCE);
    const { done, value } = await reader.read().finally(() => clearTimeout(lost));
    if (done) return new Blob(parts).arrayBuffer();
    parts.push(value);
  }
}

/**
 * @param {string} place
 * @param {string} method
 * @param {string} token
 * @param {{[name: string]: string}} headers
 * @param {ArrayBuffer} [body]
 */
async function tus(place, method, token, headers, body) {
  const response = await fetch(place, {
    method,
    headers: { "Tus-Resumable": "1.0.0", Authorization: `Bearer ${token}`, ...headers },
    body,
    signal: AbortSignal.timeout(PATIENCE),
  });
  if (!response.ok) throw await refusal(response);
  return response;
}

/**
 * @param {string} path
 * @param {object} message
 * @param {string} token
 */
async function call(path, message, token) {
  const said = JSON.stringify(message);
  const response = await fetch(path, {
    method: "POST",
    headers: {
      "Content-Type": "application/json",
      // Of somebody that it does not know, a server unpacks next to nothing.
      ...(token ? { "Content-Encoding": "gzip", Authorization: `Bearer ${token}` } : {}),
    },
    body: token ? await zipped(said) : said,
    signal: AbortSignal.timeout(PATIENCE),
  });
  if (!response.ok) throw await refusal(response);
  const time = Date.parse(response.headers.get("Date") ?? "");
  return { time, ...(response.status === NOTHING_NEW ? {} : await response.json()) };
}

/** @param {Response} response */
async function refusal(response) {
  const said = await response.json().catch(() => ({}));
  const wait = Number(response.headers.get("Retry-After")) || 0;
  return new Refusal(response.status, said.message ?? `The server answered ${response.status}.`, wait);
}

/** @param {string} text */
function zipped(text) {
  const stream = new Blob([text]).stream().pipeThrough(new CompressionStream("gzip"));
  return new Response(stream).arrayBuffer();
}
