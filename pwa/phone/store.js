// What the phone remembers: records, photos, the journal of raw requests, and a few facts of its own.
// Every write that a page's "saved" depends on is one strict transaction.

import { openDB } from "idb";

import { NO_NAME } from "./contract.js";
import { randomHex } from "./random.js";
import { atShop, droppable, dropReserve, dropSent, forgetShop, holdReserve, isFull, notAtShop, pressed } from "./room.js";

const STRICT = /** @type {IDBTransactionOptions} */ ({ durability: "strict" });

const ACKED = "acked"; // the fact of the highest number of this phone's records that the server took

/** How room is made for what a person typed, and for what could be fetched or taken again. */
const FOR_TEXT = [dropReserve, dropSent];
const FOR_OTHERS = [dropSent];

/**
 * A record as stored: its text is the truth, the rest is for looking it up. `unsent` is 1, or when the photo was
 * kept (ms since 1970), or absent. `carried`: a file brought it, and the shop has not; `contradicted`: its own device
 * says something else, so it only is shown.
 * @typedef {{id: string, job: string, kind: string, device: string, seq: number, text: string, unsent?: 1, carried?: 1, contradicted?: 1}} Row
 * @typedef {{sha256: string, type: string, size: number, bytes: ArrayBuffer, unsent?: number}} Photo
 * @typedef {{id?: number, mark?: string, at: number, method: string, path: string, form: {[name: string]: string[]}, tries?: number, failure?: Failure}} Entry
 * @typedef {{at: number, text: string}} Failure when, in ms since 1970, and what can be sent in of it
 * @typedef {{id: string, name: string, seq: number, head: string, clock: string}} Device
 */

/** @type {Promise<import("idb").IDBPDatabase<any>> | undefined} */
let opened;

function database() {
  opened ??= openDB("layby", 1, {
    upgrade(db) {
      const records = db.createObjectStore("records", { keyPath: "id" });
      for (const index of ["job", "kind", "unsent"]) records.createIndex(index, index);
      const photos = db.createObjectStore("photos", { keyPath: "sha256" });
      photos.createIndex("unsent", "unsent");
      db.createObjectStore("journal", { keyPath: "id", autoIncrement: true });
      db.createObjectStore("facts");
    },
    blocking: forget,
    terminated: forget,
  }).catch((error) => {
    opened = undefined;
    throw error;
  });
  return opened;
}

const LOST = ["InvalidStateError", "UnknownError", "AbortError"];

/** Drop a connection that the browser or a newer version wants closed; the next use opens a new one. */
async function forget() {
  const old = opened;
  opened = undefined;
  (await old?.catch(() => undefined))?.close();
}

/**
 * Run `work` on the database; when the connection turns out to be dead, once more on a fresh one. A browser that
 * has lost its storage says so in several ways, WebKit also with no error at all. `work` may have been done without
 * our being told, so it must be safe to repeat.
 * @template T
 * @param {(db: import("idb").IDBPDatabase<any>) => Promise<T>} work
 * @returns {Promise<T>}
 */
async function using(work) {
  try {
    return await work(await database());
  } catch (error) {
    if (error && !(error instanceof DOMException && LOST.includes(error.name))) throw error;
    await forget();
    return work(await database());
  }
}

/**
 * As `using`, for a write: if the phone is full, room is made for it.
 * @template T
 * @param {((db: import("idb").IDBPDatabase<any>) => Promise<void>)[]} ways
 * @param {(db: import("idb").IDBPDatabase<any>) => Promise<T>} work
 * @returns {Promise<T>}
 */
function writing(ways, work) {
  return using((db) => pressed(db, ways, () => work(db)));
}

/**
 * A job's records and every job's records of some kinds, as they are stored: a text may be damaged.
 * @param {{job: string, kinds: string[]}} needs
 * @returns {Promise<Row[]>}
 */
export function rowsFor(needs) {
  return using(async (db) => {
    const of = (/** @type {"job" | "kind"} */ index, /** @type {string} */ key) =>
      db.getAllFromIndex("records", index, key);
    const found = await Promise.all([of("job", needs.job), ...needs.kinds.map((kind) => of("kind", kind))]);
    return found.flat();
  });
}

/** @returns {Promise<Row[]>} everything that is here */
export function allRows() {
  return using((db) => db.getAll("records"));
}

/**
 * Put true texts in the place of damaged ones; what was to be sent still is.
 * @param {string[]} texts
 */
export function mend(texts) {
  return using(async (db) => {
    const transaction = db.transaction("records", "readwrite", STRICT);
    for (const text of texts) await leave(transaction.store, rowOf(text, false));
    await transaction.done;
  });
}

const AT_ONCE = 500; // records of a file in one transaction

/**
 * Keep records of other devices that came in a file. They are not this phone's to send.
 * @param {string[]} texts
 * @returns {Promise<{taken: number, had: number, refused: string[]}>}
 */
export function takeIn(texts) {
  return using(async (db) => {
    const told = { taken: 0, had: 0, refused: /** @type {string[]} */ ([]) };
    for (let at = 0; at < texts.length; at += AT_ONCE) {
      const transaction = db.transaction("records", "readwrite", STRICT);
      for (const row of texts.slice(at, at + AT_ONCE).map((text) => rowOf(text, false))) {
        const known = await transaction.store.get(row.id);
        if (!known) await transaction.store.add({ ...row, carried: 1 });
        if (!known) told.taken += 1;
        else if (known.text === row.text || isLeft(known.text) || isLeft(row.text)) told.had += 1;
        else told.refused.push(`Entry ${row.seq} of ${row.device}: another one is here under its id.`);
      }
      await transaction.done;
    }
    return told;
  });
}

/**
 * Keep the records that an answer made and, if it `ends` the journal entry that asked, forget that, together.
 * An entry that is gone was answered already (a retry can meet the request itself): then nothing is written.
 * What remains of records that were withdrawn takes their place, and their photos go.
 * @param {{texts: string[], before: Device, after: Device, entry: {id?: number, mark?: string}, ends: boolean, location: string, remains: string[], gone: string[]}} made
 * @returns {Promise<boolean>} false when another request has written since `before` was read
 */
export function commit({ texts, before, after, entry: { id, mark }, ends, location, remains, gone }) {
  return writing(FOR_TEXT, async (db) => {
    const transaction = db.transaction(["records", "facts", "journal", "photos"], "readwrite", STRICT);
    const device = /** @type {Device} */ (await transaction.objectStore("facts").get("device"));
    if (device.id !== before.id || device.seq !== before.seq || device.head !== before.head) {
      transaction.abort();
      await transaction.done.catch(() => {});
      return false;
    }
    if (id !== undefined && !(await transaction.objectStore("journal").get(id))) {
      await transaction.done;
      return true;
    }
    for (const text of texts) transaction.objectStore("records").add(rowOf(text, true));
    for (const text of remains) await leave(transaction.objectStore("records"), rowOf(text, false));
    for (const sha256 of gone) transaction.objectStore("photos").delete(sha256);
    const facts = transaction.objectStore("facts");
    facts.put({ ...after, name: device.name }, "device");
    if (id !== undefined && ends) transaction.objectStore("journal").delete(id);
    if (mark && ends && location) {
      const before = /** @type {Answered[]} */ ((await facts.get("answered")) ?? []);
      facts.put([...before, { mark, location, wrote: texts.length > 0 }].slice(-REMEMBERED), "answered");
    }
    await transaction.done;
    return true;
  });
}

/** @param {string} text of a record, or what remains of it */
function isLeft(text) {
  return Boolean(JSON.parse(text).withdrawn);
}

/**
 * Put what remains of a record in its place; what was to be sent still is.
 * @param {any} records a store open for writing
 * @param {Row} row
 */
async function leave(records, row) {
  const { unsent } = (await records.get(row.id)) ?? {};
  await records.put(unsent ? { ...row, unsent } : row);
}

/**
 * @param {string} text
 * @param {boolean} unsent
 * @returns {Row}
 */
function rowOf(text, unsent) {
  const { id, job, kind, device, seq } = JSON.parse(text);
  return unsent ? { id, job, kind, device, seq, text, unsent: 1 } : { id, job, kind, device, seq, text };
}

/**
 * A fact that is made up on first use and stays.
 * @param {string} name
 * @param {() => any} first
 * @returns {Promise<any>}
 */
function lasting(name, first) {
  return writing(FOR_TEXT, async (db) => {
    const present = await db.get("facts", name);
    if (present) return present;
    const transaction = db.transaction("facts", "readwrite", STRICT);
    let known = await transaction.store.get(name);
    if (!known) {
      known = first();
      await transaction.store.put(known, name);
    }
    await transaction.done;
    return known;
  });
}

/** @returns {Promise<Device>} this phone as a writer of records */
export const device = () =>
  lasting("device", () => ({ id: crypto.randomUUID(), name: NO_NAME, seq: 0, head: "", clock: "" }));

const TOKEN_DIGITS = 64;

/** @returns {Promise<string>} what stands in every form of this phone's pages, and no other site can know (own.js) */
export const formToken = () => lasting("form token", () => randomHex(TOKEN_DIGITS));

/** @param {string} name */
export function rename(name) {
  return writing(FOR_TEXT, async (db) => {
    await device();
    // Read and written in one: a record sealed in between has moved the device on.
    const transaction = db.transaction("facts", "readwrite", STRICT);
    await transaction.store.put({ ...(await transaction.store.get("device")), name }, "device");
    await transaction.done;
  });
}

const REMEMBERED = 200; // marks of forms answered last: a page sends one again within seconds, and asks for a draft's later

/** @typedef {{mark: string, location: string, wrote?: boolean}} Answered `wrote`: whether it made entries */

/**
 * Where the answer to a form led, if the form with this mark was answered.
 * @param {string} mark
 * @returns {Promise<string | undefined>}
 */
export async function answered(mark) {
  const known = /** @type {Answered[]} */ ((await fact("answered")) ?? []);
  return known.find((other) => other.mark === mark)?.location;
}

/**
 * @param {string} mark
 * @returns {Promise<boolean>} whether a form with this mark is here: answered lately, or in the journal
 */
export function isKept(mark) {
  return using(async (db) => {
    const transaction = db.transaction(["journal", "facts"]);
    const marks = /** @type {Answered[]} */ ((await transaction.objectStore("facts").get("answered")) ?? []);
    const waiting = /** @type {Entry[]} */ (await transaction.objectStore("journal").getAll());
    // One that wrote nothing, for the phone was full say, has what was typed nowhere but in its draft.
    return marks.some((known) => known.mark === mark && known.wrote !== false) || waiting.some((known) => known.mark === mark);
  });
}

/**
 * Keep a request until it is answered, and its photos, all or nothing, so that no entry names a photo that is not here.
 * One that comes again, or was answered already, is not kept twice.
 * @param {Entry} entry
 * @param {Photo[]} photos they fail with a QuotaExceededError if they do not fit beside the reserve
 * @returns {Promise<number | undefined>} its number in the journal
 */
export function journal(entry, photos = []) {
  return writing(photos.length ? FOR_OTHERS : FOR_TEXT, async (db) => {
    const transaction = db.transaction(["journal", "photos", "facts"], "readwrite", STRICT);
    if (photos.length) await holdReserve(transaction.objectStore("facts"));
    for (const photo of photos) await putNew(transaction.objectStore("photos"), photo);
    const marks = /** @type {Answered[]} */ ((await transaction.objectStore("facts").get("answered")) ?? []);
    const waiting = /** @type {Entry[]} */ (await transaction.objectStore("journal").getAll());
    let number = waiting.find(({ mark }) => mark === entry.mark)?.id;
    if (number === undefined && !marks.some(({ mark }) => mark === entry.mark)) {
      number = /** @type {number} */ (await transaction.objectStore("journal").add(entry));
    }
    await transaction.done;
    return number;
  });
}

/**
 * Count one more try of an entry before it is made, for a try may end the worker.
 * @param {Entry} entry
 */
export function tried(entry) {
  return writing(FOR_TEXT, async (db) => {
    const transaction = db.transaction("journal", "readwrite", STRICT);
    if (await transaction.store.get(/** @type {number} */ (entry.id))) {
      await transaction.store.put({ ...entry, tries: (entry.tries ?? 0) + 1 });
    }
    await transaction.done;
  });
}

/**
 * Keep what failed last, and with the entry that failed. It takes none of the room that is held for what is typed.
 * @param {Failure} failure
 * @param {number | undefined} id of the journal entry, if one was kept
 */
export function failed(failure, id) {
  return using(async (db) => {
    const transaction = db.transaction(["facts", "journal"], "readwrite", STRICT);
    const journal = transaction.objectStore("journal");
    const entry = id === undefined ? undefined : await journal.get(id);
    if (entry) journal.put({ ...entry, failure });
    transaction.objectStore("facts").put(failure, "failure");
    await transaction.done;
  });
}

/** @returns {Promise<Entry[]>} requests that no answer has come to yet, oldest first */
export function journalled() {
  return using((db) => db.getAll("journal"));
}

/**
 * Keep a photo that came from elsewhere.
 * @param {Photo} photo
 * @param {boolean} fetched whether the shop's server gave it, and can give it again
 */
export function keepPhoto(photo, fetched = false) {
  // What can be fetched again pushes nothing out.
  return writing(fetched ? [] : FOR_OTHERS, async (db) => {
    const transaction = db.transaction(["photos", "facts"], "readwrite", STRICT);
    if (fetched) await atShop(transaction.objectStore("facts"), photo);
    else await holdReserve(transaction.objectStore("facts"));
    await putNew(transaction.objectStore("photos"), photo);
    await transaction.done;
  });
}

/**
 * @param {any} photos a store open for writing
 * @param {Photo} photo
 */
async function putNew(photos, photo) {
  if ((await photos.getKey(photo.sha256)) === undefined) await photos.put(photo);
}

/**
 * @param {string} sha256
 * @returns {Promise<Photo | undefined>}
 */
export function photo(sha256) {
  return using((db) => db.get("photos", sha256));
}

/**
 * @param {string} name
 * @returns {Promise<any>}
 */
export function fact(name) {
  return using((db) => db.get("facts", name));
}

/**
 * @param {string} name
 * @param {any} value
 */
export function setFact(name, value) {
  return writing(FOR_TEXT, async (db) => {
    const transaction = db.transaction("facts", "readwrite", STRICT);
    await transaction.store.put(value, name);
    await transaction.done;
  });
}

/**
 * Drop a photo whose bytes nobody may keep any more.
 * @param {string} sha256
 */
export function dropPhoto(sha256) {
  return using((db) => db.delete("photos", sha256));
}

/** How much the server does not have yet. */
export function unsent() {
  return using(async (db) => ({
    unsent_notes: await db.countFromIndex("records", "unsent"),
    unsent_photos: await db.countFromIndex("photos", "unsent"),
  }));
}

/** @returns {Promise<number[]>} when the oldest and the newest of it were written, in ms since 1970 by this phone's clock */
export function unsentTimes() {
  return using(async (db) => {
    const transaction = db.transaction(["records", "photos"]);
    const [records, photos] = ["records", "photos"].map((name) => transaction.objectStore(name).index("unsent"));
    const ends = (/** @type {any} */ index) => Promise.all([index.openKeyCursor(), index.openKeyCursor(null, "prev")]);
    const [notes, kept] = await Promise.all([ends(records), ends(photos)]);
    const times = [
      ...notes.map((cursor) => cursor && parseInt(cursor.primaryKey.replace("-", "").slice(0, 12), 16)), // UUIDv7
      ...kept.map((cursor) => cursor?.key),
    ];
    return times.filter(Number.isFinite);
  });
}

/** How much is here, for the page about this phone; photos that could be dropped count in bytes too. */
export function holdings() {
  return using(async (db) => {
    const sent = await droppable(db);
    return { notes: await db.count("records"), photos: await db.count("photos"), sent_photos: sent.photos, sent_size: sent.size };
  });
}

/** Drop every photo that the shop's server has. */
export function freeSent() {
  return using((db) => dropSent(db, Infinity));
}

/** Hold the reserve again, if there is room for it. */
export function reserve() {
  return using(async (db) => {
    const transaction = db.transaction("facts", "readwrite", STRICT);
    await holdReserve(transaction.store);
    await transaction.done;
  }).catch((error) => {
    if (!isFull(error)) throw error;
  });
}

/**
 * @param {number} limit
 * @returns {Promise<Row[]>} unsent records in the order they were written
 */
export function unsentRows(limit) {
  return using(async (db) => {
    const rows = /** @type {Row[]} */ (await db.getAllFromIndex("records", "unsent"));
    return rows.sort((a, b) => a.seq - b.seq).slice(0, limit);
  });
}

/** @returns {Promise<string[]>} hashes of photos the server does not have yet */
export function unsentPhotos() {
  return using(async (db) => /** @type {string[]} */ (await db.getAllKeysFromIndex("photos", "unsent")));
}

/**
 * The server has this photo. If there is no room to say so, and it gives it back, it goes: it can be fetched again.
 * @param {string} sha256
 * @param {boolean} given whether the server gives it back when it is asked for; else it is never dropped here
 */
export function photoSent(sha256, given) {
  return using(async (db) => {
    const transaction = db.transaction(["photos", "facts"], "readwrite", STRICT);
    const { unsent: _, ...sent } = await transaction.objectStore("photos").get(sha256);
    await transaction.objectStore("photos").put(sent);
    if (given) await atShop(transaction.objectStore("facts"), sent);
    await transaction.done;
  }).catch((error) => {
    if (!isFull(error) || !given) throw error;
    return using((db) => db.delete("photos", sha256));
  });
}

/**
 * @param {string} device this phone's id
 * @returns {Promise<number>} the highest number of its own records that the server took, 0 if there is none
 */
export function acked(device) {
  return using(async (db) => {
    const known = await db.get("facts", ACKED);
    if (known !== undefined) return known;
    const rows = /** @type {Row[]} */ (await db.getAll("records"));
    return rows.reduce((most, row) => (row.device === device && !row.unsent ? Math.max(most, row.seq) : most), 0);
  });
}

/**
 * Photos that the server asks for: it never had them, or has lost them. Those that are here are to be sent.
 * @param {string[]} hashes
 */
export function askedBack(hashes) {
  return using(async (db) => {
    const transaction = db.transaction(["photos", "facts"], "readwrite", STRICT);
    for (const sha256 of hashes) {
      const photo = /** @type {Photo | undefined} */ (await transaction.objectStore("photos").get(sha256));
      if (!photo || photo.unsent) continue;
      await transaction.objectStore("photos").put({ ...photo, unsent: Date.now() });
      await notAtShop(transaction.objectStore("facts"), sha256);
    }
    await transaction.done;
  });
}

/**
 * Mark everything this phone made as unsent: the server is not the one that took it.
 * @param {string} device this phone's id
 */
export function offerAgain(device) {
  return using(async (db) => {
    await forgetShop(db); // first: what may be lacking there must not be dropped here
    const transaction = db.transaction(["records", "photos", "facts"], "readwrite", STRICT);
    transaction.objectStore("facts").put(0, ACKED);
    for await (const cursor of transaction.objectStore("records")) {
      if (cursor.value.device === device) cursor.update({ ...cursor.value, unsent: 1 });
    }
    for await (const cursor of transaction.objectStore("photos")) cursor.update({ ...cursor.value, unsent: Date.now() });
    await transaction.done;
  });
}

/**
 * @param {string} device
 * @param {number} seq
 * @returns {Promise<string | undefined>} a device's record of this number
 */
export function ownText(device, seq) {
  return using(async (db) => {
    const rows = /** @type {Row[]} */ (await db.getAll("records"));
    return rows.find((row) => row.device === device && row.seq === seq)?.text;
  });
}

/**
 * Be another device from now on: `texts` are its records and stand for `rows`, whose own texts are set aside, and its name.
 * Everything at the server is fetched anew, for what the old device wrote comes back like any other's.
 * @param {{before: Device, after: Device, token: string, rows: Row[], texts: string[]}} change
 * @returns {Promise<boolean>} false, and nothing is changed, when something was written since `before`
 */
export function goOnAs({ before, after, token, rows, texts }) {
  return writing(FOR_TEXT, async (db) => {
    const transaction = db.transaction(["records", "facts"], "readwrite", STRICT);
    const [records, facts] = [transaction.objectStore("records"), transaction.objectStore("facts")];
    const device = /** @type {Device} */ (await facts.get("device"));
    if (device.id !== before.id || device.seq !== before.seq || device.head !== before.head) {
      await transaction.done;
      return false;
    }
    const aside = (await facts.get("aside")) ?? [];
    facts.put({ at: Date.now(), entries: rows.length }, "restored");
    facts.put([...aside, { at: Date.now(), device: before.id, texts: rows.map((row) => row.text) }], "aside");
    for (const row of rows) records.delete(row.id);
    for (const text of texts) records.add(rowOf(text, true));
    facts.put({ ...after, name: device.name }, "device");
    facts.put(token, "token");
    facts.put(0, "cursor");
    facts.put(0, ACKED);
    const signed = await facts.get("signed");
    if (signed) facts.put([...((await facts.get("signed before")) ?? []), signed], "signed before");
    for (const name of ["fork", "key", "signed"]) facts.delete(name); // a copy of this phone has the old key
    await transaction.done;
    return true;
  });
}

/**
 * Keep the newest head of this phone's chain that the shop countersigned. One that it signed with another key stays, too.
 * @param {import("./keys.js").Countersigned} signed
 */
export function keepSigned(signed) {
  return writing(FOR_TEXT, async (db) => {
    const transaction = db.transaction("facts", "readwrite", STRICT);
    const before = await transaction.store.get("signed");
    if (before && before.shop_key !== signed.shop_key) {
      transaction.store.put([...((await transaction.store.get("signed before")) ?? []), before], "signed before");
    }
    if (!before || before.shop_key !== signed.shop_key || signed.seq >= before.seq) transaction.store.put(signed, "signed");
    await transaction.done;
  });
}

/**
 * One answer of the server: what it took, what it refused, what it knows besides, and how far we are.
 * Its time takes the device's hybrid clock along, so that what a phone with a slow clock writes shows as that.
 * Photos that were withdrawn go.
 * @param {{taken: string[], texts: string[], contradicted: string[], gone: string[], time: number, facts: {[name: string]: any}}} answer
 */
export function exchange({ taken, texts, contradicted, gone, time, facts }) {
  // What others wrote can be fetched again later; it does not take the room that is held for what is typed here.
  return writing(texts.length ? FOR_OTHERS : FOR_TEXT, async (db) => {
    const transaction = db.transaction(["records", "facts", "photos"], "readwrite", STRICT);
    const records = transaction.objectStore("records");
    for (const sha256 of gone) transaction.objectStore("photos").delete(sha256);
    let highest = 0;
    for (const id of taken) {
      const row = await records.get(id);
      if (row) await records.put(rowOf(row.text, false));
      highest = Math.max(highest, row?.seq ?? 0);
    }
    const before = await transaction.objectStore("facts").get(ACKED);
    if (highest > (before ?? 0)) await transaction.objectStore("facts").put(highest, ACKED);
    const own = await transaction.objectStore("facts").get("device");
    for (const text of texts) {
      const row = rowOf(text, false);
      const known = /** @type {Row | undefined} */ (await records.get(row.id));
      const isOthers = known && known.device !== own.id && (known.carried || contradicted.includes(row.id));
      if (!known || (isOthers && !isLeft(text))) await records.put(row);
      else if (isLeft(text)) await leave(records, row);
    }
    for (const id of contradicted) {
      const row = await records.get(id);
      if (row && row.device !== own.id && !texts.includes(row.text)) await records.put({ ...row, contradicted: 1 });
    }
    for (const [name, value] of Object.entries(facts)) await transaction.objectStore("facts").put(value, name);
    const device = /** @type {Device} */ (await transaction.objectStore("facts").get("device"));
    const clock = time ? `${String(time).padStart(15, "0")}.0000000` : ""; // as records.write_clock
    if (clock > device.clock) await transaction.objectStore("facts").put({ ...device, clock }, "device");
    await transaction.done;
  });
}
