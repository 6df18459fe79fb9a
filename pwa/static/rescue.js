// Lists and exports what the phone holds, with nothing of Layby in between: no Python, no worker, no library.

const $ = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById(id));

/** @type {{[type: string]: string}} */
const ENDINGS = { "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp", "image/heic": "heic", "image/heif": "heif" };

/**
 * @param {IDBDatabase} db
 * @param {string} store
 * @returns {Promise<any[]>}
 */
function all(db, store) {
  return new Promise((resolve, reject) => {
    if (!db.objectStoreNames.contains(store)) return resolve([]);
    const request = db.transaction(store).objectStore(store).getAll();
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @returns {Promise<IDBDatabase>} */
function open() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open("layby");
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/**
 * @param {string} list
 * @param {string} text
 */
function line(list, text) {
  const item = document.createElement("li");
  const body = document.createElement("pre");
  body.textContent = text;
  item.append(body);
  $(list).append(item);
  return item;
}

/**
 * What failed, to be sent in (written by phone/failure.js).
 * @param {HTMLElement} place
 * @param {{text: string} | undefined} failure
 */
function tell(place, failure) {
  if (!failure) return;
  const text = document.createElement("pre");
  text.id = `failed-${document.querySelectorAll("button[data-copy]").length}`;
  text.textContent = failure.text;
  const button = document.createElement("button");
  button.type = "button";
  button.className = "go";
  button.dataset.copy = text.id;
  button.textContent = "Copy or share";
  place.append(text, button);
  place.hidden = false;
}

/**
 * @param {IDBDatabase} db
 * @returns {Promise<{text: string} | undefined>}
 */
function lastFailure(db) {
  return new Promise((resolve) => {
    if (!db.objectStoreNames.contains("facts")) return resolve(undefined);
    const request = db.transaction("facts").objectStore("facts").get("failure");
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => resolve(undefined);
  });
}

async function show() {
  const db = await open();
  tell($("failure"), await lastFailure(db));
  const [records, journal, photos] = [await all(db, "records"), await all(db, "journal"), await all(db, "photos")];
  for (const { failure, ...entry } of journal) tell(line("journal", JSON.stringify(entry, null, 1)), failure);
  for (const record of records) line("records", record.text);
  for (const photo of photos) {
    const link = document.createElement("a");
    // Never under a type of its own: opened instead of saved, a page would run here.
    link.href = URL.createObjectURL(new Blob([photo.bytes], { type: "application/octet-stream" }));
    link.download = `${photo.sha256}.${ENDINGS[photo.type] ?? "bin"}`;
    link.textContent = `Save photo (${Math.round(photo.size / 1024)} kB)`;
    line("photos", photo.sha256).append(link);
  }
  const typed = JSON.stringify({ records: records.map((record) => record.text), journal }, null, 1);
  const save = /** @type {HTMLAnchorElement} */ ($("save"));
  save.href = URL.createObjectURL(new Blob([typed], { type: "application/json" }));
  save.hidden = false;
  $("state").textContent = `${records.length} records, ${photos.length} photos, ${journal.length} entries not yet in a job.`;
}

show().catch((error) => {
  $("state").textContent = `The storage cannot be read: ${error.message}. Close all Layby windows, start the browser again and come back here.`;
});
