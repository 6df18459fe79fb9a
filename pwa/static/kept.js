// A few small things that must outlive this page and the whole browser: in IndexedDB, for Chromium may write
// localStorage to the disk a minute late.

/** @type {Promise<IDBDatabase> | undefined} */
let opened;

function database() {
  opened ??= new Promise((done, fail) => {
    const opening = indexedDB.open("layby-page", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("kept");
    opening.onsuccess = () => done(opening.result);
    opening.onerror = () => fail(opening.error);
  });
  return opened;
}

/**
 * @param {IDBTransactionMode} mode
 * @param {(store: IDBObjectStore) => IDBRequest} work
 * @returns {Promise<any>} undefined also where the browser gives no storage: nothing here is worth an error
 */
async function within(mode, work) {
  try {
    const transaction = (await database()).transaction("kept", mode, { durability: "strict" });
    return await new Promise((done, fail) => {
      const asked = work(transaction.objectStore("kept"));
      transaction.oncomplete = () => done(asked.result);
      transaction.onabort = () => fail(transaction.error);
    });
  } catch {
    opened = undefined;
    return undefined;
  }
}

/**
 * @param {string} key
 * @param {string} text
 */
export const keep = (key, text) => within("readwrite", (store) => store.put(text, key));

/** @param {string} key */
export const recall = (key) => within("readonly", (store) => store.get(key));

/** @param {string} key */
export const forget = (key) => within("readwrite", (store) => store.delete(key));

/** @param {string} prefix of the keys */
export const forgetAll = (prefix) =>
  within("readwrite", (store) => store.delete(IDBKeyRange.bound(prefix, `${prefix}\uffff`)));
