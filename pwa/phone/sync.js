// Sends what the server lacks and fetches what this phone lacks. Safe to cut anywhere and to repeat.

import * as store from "./store.js";

const BATCH = 200; // records a request
const CHUNK = 256 * 1024; // bytes of a photo a request: a bar of signal gets some of it through
const PATIENCE = 30_000; // ms until a request counts as lost

/** @type {Promise<void> | undefined} */
let running;

/**
 * Exchange records until both sides have all, then send photos. Two calls at once share one run.
 * @returns {Promise<void>} always settles; the outcome is kept as the fact "sync" and shown on screen
 */
export function sync() {
  running ??= exchange()
    .then(
      (said) => note({ ok: true, ...said }),
      (error) => note({ ok: false, message: sayWhy(error) }),
    )
    .finally(() => {
      running = undefined;
    });
  return running;
}

/**
 * Trade a one-time code for this phone's own token.
 * @param {string} code
 * @param {string} name whose phone this is
 */
export async function enrol(code, name) {
  if (name) await store.rename(name);
  const device = await store.device();
  try {
    const { token } = await call("/enrol", { code, device: device.id, name: device.name }, "");
    await store.setFact("token", token);
  } catch (error) {
    return note({ ok: false, message: sayWhy(error) });
  }
  return sync();
}

/** @param {{ok: boolean, message?: string, refused?: any[], gaps?: any[]}} outcome */
async function note(outcome) {
  const last = await store.fact("sync");
  const at = Date.now();
  await store.setFact("sync", { refused: [], gaps: [], message: "", ...outcome, at, good: outcome.ok ? at : (last?.good ?? 0) });
}

/** @param {unknown} error */
function sayWhy(error) {
  if (error instanceof Refusal) return error.message;
  return "No answer from the shop's server. Everything stays safe on this phone; it is tried again when there is signal.";
}

/** The server answered, and the answer is no. */
class Refusal extends Error {
  /**
   * @param {number} status
   * @param {string} message
   */
  constructor(status, message) {
    super(message);
    this.status = status;
  }
}

async function exchange() {
  const token = await store.fact("token");
  if (!token) throw new Refusal(401, "This phone is not enrolled yet. Ask the shop for a code.");
  const [refused, gaps] = await exchangeRecords(token);
  await sendPhotos(token);
  return { refused, gaps };
}

/** @param {string} token */
async function exchangeRecords(token) {
  for (;;) {
    const rows = await store.unsentRows(BATCH);
    const device = (await store.device()).id;
    const [cursor, epoch] = [(await store.fact("cursor")) ?? 0, (await store.fact("epoch")) ?? ""];
    const records = rows.map((row) => row.text);
    const said = await call("/sync", { protocol: 1, device, epoch, cursor, records }, token);
    const facts = { cursor: said.cursor, epoch: said.epoch };
    await store.exchange({ taken: said.taken, texts: said.records, facts });
    const progressed = said.taken.length > 0 && rows.length === BATCH;
    if (!said.more && !progressed) return [said.refused, said.gaps];
  }
}

/** @param {string} token */
async function sendPhotos(token) {
  for (const hash of await store.unsentPhotos()) {
    const photo = await store.photo(hash);
    if (photo) await sendPhoto(photo, token);
    await store.photoSent(hash);
  }
}

/**
 * One photo by tus 1.0 (core, creation, checksum), continued where an earlier try was cut.
 * @param {store.Photo} photo
 * @param {string} token
 */
async function sendPhoto(photo, token) {
  const slot = `upload:${photo.sha256}`;
  let place = await store.fact(slot);
  let offset = place ? await offsetOf(place, token) : undefined;
  if (offset === undefined) {
    const metadata = `sha256 ${btoa(photo.sha256)},type ${btoa(photo.type)}`;
    const headers = { "Upload-Length": String(photo.size), "Upload-Metadata": metadata };
    const made = await tus("/uploads", "POST", token, headers);
    if (!made.ok) throw await refusal(made);
    place = new URL(made.headers.get("Location") ?? "", self.location.origin).href;
    offset = Number(made.headers.get("Upload-Offset") ?? 0);
    await store.setFact(slot, place);
  }
  while (offset < photo.size) {
    const chunk = photo.bytes.slice(offset, offset + CHUNK);
    const sum = btoa(String.fromCharCode(...new Uint8Array(await crypto.subtle.digest("SHA-256", chunk))));
    const headers = {
      "Content-Type": "application/offset+octet-stream",
      "Upload-Offset": String(offset),
      "Upload-Checksum": `sha256 ${sum}`,
    };
    const sent = await tus(place, "PATCH", token, headers, chunk);
    if (!sent.ok) throw await refusal(sent);
    offset = Number(sent.headers.get("Upload-Offset"));
  }
  await store.setFact(slot, undefined);
}

/**
 * @param {string} place
 * @param {string} token
 * @returns {Promise<number | undefined>} undefined when the server no longer knows the upload
 */
async function offsetOf(place, token) {
  const head = await tus(place, "HEAD", token, {});
  return head.ok ? Number(head.headers.get("Upload-Offset")) : undefined;
}

/**
 * @param {string} place
 * @param {string} method
 * @param {string} token
 * @param {{[name: string]: string}} headers
 * @param {ArrayBuffer} [body]
 */
function tus(place, method, token, headers, body) {
  return fetch(place, {
    method,
    headers: { "Tus-Resumable": "1.0.0", Authorization: `Bearer ${token}`, ...headers },
    body,
    signal: AbortSignal.timeout(PATIENCE),
  });
}

/**
 * @param {string} path
 * @param {object} message
 * @param {string} token
 */
async function call(path, message, token) {
  const response = await fetch(path, {
    method: "POST",
    headers: {
      "Content-Type": "application/json",
      "Content-Encoding": "gzip",
      ...(token ? { Authorization: `Bearer ${token}` } : {}),
    },
    body: await zipped(JSON.stringify(message)),
    signal: AbortSignal.timeout(PATIENCE),
  });
  if (!response.ok) throw await refusal(response);
  return response.json();
}

/** @param {Response} response */
async function refusal(response) {
  const said = await response.json().catch(() => ({}));
  return new Refusal(response.status, said.message ?? `The server answered ${response.status}.`);
}

/** @param {string} text */
function zipped(text) {
  const stream = new Blob([text]).stream().pipeThrough(new CompressionStream("gzip"));
  return new Response(stream).arrayBuffer();
}
