// Jobs as a file, out and in, without a server: a zip of records, verbatim, and photos (handbook: without-a-server).
// Nothing in such a file is believed: names decide nothing, sizes are bounded, records are judged, photos hashed.

import { strToU8, unzipSync, Zip, ZipDeflate, ZipPassThrough } from "fflate";

import {
  ALL,
  FILE_ABOUT,
  FILE_ENDINGS,
  FILE_FORMAT,
  FILE_OF_ALL,
  FILE_OF_JOB,
  FILE_PHOTOS,
  FILE_RECORDS,
  FILE_VERSION,
  NAMED,
  PHONE_TAKES,
  PERSON,
  PHOTO_BYTES,
  RECORD_MOST,
  SHOP,
} from "./contract.js";
import { mediaType } from "./pictures.js";
import { sha256 } from "./precache.js";
import { python } from "./python.js";
import * as store from "./store.js";

const BATCH = 200; // records that Python judges at once
const MB = 1024 * 1024;

/** What a file taken in holds is wrong in a way that a person can be told. */
class Unfit extends Error {}

/**
 * @param {string} job an id, or "all"
 * @returns {Promise<Response>}
 */
export async function exported(job) {
  const rows = job === ALL ? await store.allRows() : await ofJob(job);
  /** @type {Uint8Array[]} */
  const parts = [];
  const done = new Promise((resolve, reject) => {
    const zip = new Zip((error, part, last) => {
      if (error) return reject(error);
      parts.push(part);
      if (last) resolve(undefined);
    });
    write(zip, rows.map(({ text }) => String(text)), job).then(() => zip.end(), reject);
  });
  await done;
  const name = job === ALL ? FILE_OF_ALL : FILE_OF_JOB;
  const headers = { "Content-Type": "application/zip", "Content-Disposition": `attachment; filename="${name}"` };
  return new Response(new Blob(/** @type {BlobPart[]} */ (parts)), { headers });
}

/**
 * @param {string} job
 * @returns {Promise<store.Row[]>} a job's records, and the names of those who wrote them
 */
async function ofJob(job) {
  const [rows, names] = [await store.rowsFor({ job, kinds: [] }), await store.rowsFor({ job: "", kinds: [PERSON] })];
  const writers = new Set(rows.map(({ device }) => device));
  return [...rows, ...names.filter((row) => row.job !== job && writers.has(row.device))];
}

/**
 * @param {Zip} zip
 * @param {string[]} texts
 * @param {string} job
 */
async function write(zip, texts, job) {
  const named = [...new Set(texts.map((text) => photoOf(recordOf(text))).filter(Boolean))];
  /** @type {string[]} */
  const missing = [];
  const lines = new ZipDeflate(FILE_RECORDS);
  zip.add(lines);
  lines.push(strToU8(texts.map((text) => `${line(text)}\n`).join("")), true);
  for (const hash of named) {
    const photo = await store.photo(hash);
    if (!photo) missing.push(hash);
    else {
      const file = new ZipPassThrough(`${FILE_PHOTOS}${hash}${FILE_ENDINGS[photo.type] ?? ""}`);
      zip.add(file);
      file.push(new Uint8Array(photo.bytes), true);
    }
  }
  const about = {
    format: FILE_FORMAT,
    version: FILE_VERSION,
    made: Date.now(),
    by: (await store.device()).name,
    job,
    records: texts.length,
    photos: named.length - missing.length,
    photos_missing: missing,
  };
  const head = new ZipDeflate(FILE_ABOUT);
  zip.add(head);
  head.push(strToU8(JSON.stringify(about)), true);
}

/** A record's text stands as it is; one that has a line break of its own, or is damaged, is written as a JSON string. */
const line = (/** @type {string} */ text) => (/[\r\n]/.test(text) || !recordOf(text) ? JSON.stringify(text) : text);

/** @param {string} text */
function recordOf(text) {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** @param {any} record */
function photoOf(record) {
  const hash = record?.kind === "photo" ? record.data?.sha256 : "";
  return typeof hash === "string" && /^[0-9a-f]{64}$/.test(hash) ? hash : "";
}

/**
 * @param {Request} request a file as its body
 * @returns {Promise<Response>} JSON: what was new, what was here, and what was refused and why
 */
export async function takenIn(request) {
  try {
    const bytes = new Uint8Array(await request.arrayBuffer());
    if (bytes.length > PHONE_TAKES.bytes) {
      throw new Unfit(`The file is larger than ${PHONE_TAKES.bytes / MB} MB. Take it in at the desk.`);
    }
    return reply(await take(bytes), 200);
  } catch (error) {
    if (error instanceof Unfit) return reply({ message: error.message }, 422);
    throw error;
  }
}

/**
 * @param {object} said
 * @param {number} status
 */
function reply(said, status) {
  return new Response(JSON.stringify(said), { status, headers: { "Content-Type": "application/json" } });
}

/** @param {Uint8Array} bytes */
async function take(bytes) {
  const texts = textsOf(bytes);
  const { good, refused } = await judged(texts);
  await mend(good);
  const kept = await store.takeIn(good.map(({ text }) => text));
  refused.push(...kept.refused);
  const wanted = new Set(good.map(({ record }) => photoOf(record)).filter(Boolean));
  const photos = await takePhotos(bytes, wanted, good, refused);
  const jobs = new Set(good.map(({ record }) => record.job).filter((job) => job !== SHOP)).size;
  return { jobs, taken: kept.taken, had: kept.had, photos, refused: refused.length, named: refused.slice(0, NAMED) };
}

/**
 * Damaged records of the jobs in a file take the file's copy, where that makes them whole.
 * @param {{text: string, record: any}[]} good
 */
async function mend(good) {
  const [notebook, device] = [await python(), JSON.stringify(await store.device())];
  for (const job of new Set(good.map(({ record }) => record.job))) {
    const rows = await store.rowsFor({ job, kinds: [] });
    const texts = good.filter(({ record }) => record.job === job).map(({ text }) => text);
    await store.mend(JSON.parse(notebook.mended(JSON.stringify(rows), JSON.stringify(texts), device)));
  }
}

/**
 * @param {Uint8Array} bytes
 * @returns {(string | undefined)[]} the records' texts; undefined for what is no text
 */
function textsOf(bytes) {
  let count = 0;
  const found = opened(bytes, (file) => {
    if ((count += 1) > PHONE_TAKES.files) throw new Unfit(`More than ${PHONE_TAKES.files} files are in it.`);
    if (file.name !== FILE_RECORDS) return false;
    if (Math.max(file.originalSize, file.size) > PHONE_TAKES.records) {
      throw new Unfit(`Its entries are more than ${PHONE_TAKES.records / MB} MB.`);
    }
    return true;
  })[FILE_RECORDS];
  if (!found) throw new Unfit("This is no file that Layby made: it holds no entries.");
  return linesIn(found).filter((text) => text === undefined || text.trim());
}

const decoder = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true });

/**
 * Line by line, so that one that is no UTF-8 spoils no other.
 * @param {Uint8Array} bytes
 * @returns {(string | undefined)[]}
 */
function linesIn(bytes) {
  const lines = [];
  for (let from = 0, to; from < bytes.length; from = to + 1) {
    to = bytes.indexOf(10, from);
    if (to < 0) to = bytes.length;
    try {
      lines.push(decoder.decode(bytes.subarray(from, to)));
    } catch {
      lines.push(undefined);
    }
  }
  return lines;
}

/**
 * @param {Uint8Array} bytes
 * @param {import("fflate").UnzipFileFilter} filter
 */
function opened(bytes, filter) {
  try {
    return unzipSync(bytes, { filter });
  } catch (error) {
    if (error instanceof Unfit) throw error;
    throw new Unfit("This file is damaged, or no zip.");
  }
}

/**
 * @param {(string | undefined)[]} lines
 * @returns {Promise<{good: {text: string, record: any}[], refused: string[]}>}
 */
async function judged(lines) {
  /** @type {string[]} */
  const refused = [];
  const read = lines.flatMap((text, index) => {
    const found = text === undefined ? undefined : parsed(text);
    if (!found) refused.push(`Line ${index + 1}: this is no entry.`);
    return found ? [{ ...found, line: index + 1 }] : [];
  });
  read.sort((a, b) => (a.record.device < b.record.device ? -1 : a.record.device > b.record.device ? 1 : a.record.seq - b.record.seq));
  const [notebook, device] = [await python(), JSON.stringify(await store.device())];
  const good = [];
  let last = "{}";
  for (let at = 0; at < read.length; at += BATCH) {
    const batch = read.slice(at, at + BATCH);
    const said = JSON.parse(notebook.judge(JSON.stringify(batch.map(({ text }) => text)), device, last));
    last = JSON.stringify(said.last);
    for (const [n, item] of batch.entries()) {
      if (said.refused[n]) refused.push(`Line ${item.line}: ${said.refused[n]}`);
      else good.push(item);
    }
  }
  return { good, refused };
}

/**
 * The record of a line, if it is JSON to the letter, which MicroPython's reader does not insist on. The rest of the
 * verdict is Python's (pwa/app/record/verbatim.py).
 * @param {string} line
 * @returns {{text: string, record: any} | undefined}
 */
function parsed(line) {
  try {
    const text = line.startsWith('"') ? JSON.parse(line) : line.replace(/\r$/, "");
    if (typeof text !== "string" || strToU8(text).length > RECORD_MOST) return undefined;
    const record = JSON.parse(text);
    return record && typeof record === "object" && !Array.isArray(record) ? { text, record } : undefined;
  } catch {
    return undefined;
  }
}

/**
 * @param {Uint8Array} bytes
 * @param {Set<string>} wanted hashes that an entry of this file names
 * @param {{record: any}[]} good
 * @param {string[]} refused
 * @returns {Promise<number>} how many are new
 */
async function takePhotos(bytes, wanted, good, refused) {
  /** @type {string[]} */
  const names = [];
  opened(bytes, (file) => {
    if (file.name.startsWith(FILE_PHOTOS)) names.push(file.name);
    return false;
  });
  let taken = 0;
  for (const [n, name] of names.entries()) {
    const content = photoIn(bytes, name);
    const hash = content && (await sha256(content));
    if (!content || !hash) refused.push(`Photo ${n + 1}: it is larger than ${PHOTO_BYTES / MB} MB.`);
    else if (!wanted.has(hash)) refused.push(`Photo ${n + 1}: no entry names it, or it was changed.`);
    else if (!(await store.photo(hash))) {
      const said = good.find(({ record }) => photoOf(record) === hash)?.record.data.type;
      await store.keepPhoto({ sha256: hash, type: typeOf(content, said), size: content.byteLength, bytes: content });
      taken += 1;
    }
  }
  return taken;
}

/**
 * One photo at a time: all of them unpacked at once may be more than the phone's memory.
 * @param {Uint8Array} bytes
 * @param {string} name
 * @returns {ArrayBuffer | undefined}
 */
function photoIn(bytes, name) {
  let first = true;
  const found = opened(bytes, (file) => {
    const fits = first && file.name === name && Math.max(file.originalSize, file.size) <= PHOTO_BYTES;
    if (file.name === name) first = false;
    return fits;
  })[name];
  return found ? /** @type {ArrayBuffer} */ (found.slice().buffer) : undefined;
}

/**
 * What a picture is, by its bytes; what no browser shows is only ever called a picture or plain bytes.
 * @param {ArrayBuffer} content
 * @param {unknown} said
 */
function typeOf(content, said) {
  const plain = said === "image/heic" || said === "image/heif" ? said : "application/octet-stream";
  return mediaType(content) || plain;
}
