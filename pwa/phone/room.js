// Room on a full phone. A browser that is out of quota takes not even a short text, so some megabytes are held in
// reserve: they are given up for what is typed, and a photo goes in only beside the whole reserve. More room is made
// by dropping photos that the shop's server has; one that it lacks is never dropped.

const RESERVE = "reserve"; // the fact that holds it
const SIZE = 2 * 1024 * 1024; // bytes; thousands of notes
const PIECE = 65536; // bytes of randomness the browser gives at once
const AT_SHOP = "at shop "; // the fact of this name and a photo's hash: its size in bytes
const SENT = IDBKeyRange.bound(AT_SHOP, `${AT_SHOP}\uffff`);

/** @typedef {import("idb").IDBPDatabase<any>} Database */

/**
 * @param {any} error
 * @returns {boolean} whether a write failed for want of room
 */
export const isFull = (error) => error?.name === "QuotaExceededError";

/**
 * Run a write; when there is no room for it, make some in one way after the other, and try again after each.
 * @template T
 * @param {Database} db
 * @param {((db: Database) => Promise<void>)[]} ways
 * @param {() => Promise<T>} write
 * @returns {Promise<T>}
 */
export async function pressed(db, ways, write) {
  for (const way of ways) {
    try {
      return await write();
    } catch (error) {
      if (!isFull(error)) throw error;
      await way(db);
    }
  }
  return write();
}

/** @param {Database} db */
export async function dropReserve(db) {
  await db.delete("facts", RESERVE);
}

/**
 * Put the reserve in, if it is not there. Random bytes: others would be pressed to nothing.
 * @param {any} facts a store open for writing
 */
export async function holdReserve(facts) {
  if ((await facts.getKey(RESERVE)) !== undefined) return;
  const bytes = new Uint8Array(SIZE);
  for (let at = 0; at < SIZE; at += PIECE) crypto.getRandomValues(bytes.subarray(at, at + PIECE));
  facts.put(bytes.buffer, RESERVE);
}

/**
 * Note, in the transaction that says so of the photo, that the shop's server has it.
 * @param {any} facts a store open for writing
 * @param {{sha256: string, size: number}} photo
 */
export const atShop = (facts, photo) => facts.put(photo.size, AT_SHOP + photo.sha256);

/**
 * @param {any} facts a store open for writing
 * @param {string} sha256 of a photo that the shop's server has lost
 */
export const notAtShop = (facts, sha256) => facts.delete(AT_SHOP + sha256);

/** @param {Database} db */
export async function forgetShop(db) {
  await db.delete("facts", SENT);
}

/**
 * @param {Database} db
 * @returns {Promise<{photos: number, size: number}>} what could be dropped, in bytes
 */
export async function droppable(db) {
  const sizes = /** @type {number[]} */ (await db.getAll("facts", SENT));
  return { photos: sizes.length, size: sizes.reduce((sum, size) => sum + size, 0) };
}

/**
 * Drop photos that the shop's server has, until so much is free.
 * @param {Database} db
 * @param {number} wanted bytes
 */
export async function dropSent(db, wanted = SIZE) {
  const transaction = db.transaction(["photos", "facts"], "readwrite", { durability: "strict" });
  const [photos, facts] = [transaction.objectStore("photos"), transaction.objectStore("facts")];
  const unsent = new Set(await photos.index("unsent").getAllKeys());
  const [names, sizes] = await Promise.all([facts.getAllKeys(SENT), facts.getAll(SENT)]);
  let freed = 0;
  for (const [n, name] of names.entries()) {
    const hash = String(name).slice(AT_SHOP.length);
    if (freed >= wanted || unsent.has(hash)) continue;
    photos.delete(hash);
    facts.delete(name);
    freed += sizes[n];
  }
  await transaction.done;
}
