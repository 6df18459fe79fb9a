// The app's own files: fetched completely or not at all, checked by hash, then served without a network.

/** Written in by the build: the build's version and every file's SHA-256. */

const PRECACHE = __PRECACHE__;
const PREFIX = "layby-";
const NAME = PREFIX + PRECACHE.version;

export const version = PRECACHE.version;

// A cache can lose files or rot. Each is checked against its hash at its first use in a worker's life: to check at every
// use would hash the same bytes for each page, and a worker lives for less than a minute after its last one.
/** @type {Set<string>} */
const whole = new Set();
/** @type {Set<string>} */
const broken = new Set();

/** @returns {boolean} whether a file was found damaged or gone, and could not be fetched again */
export const damaged = () => broken.size > 0;

/** Look at every file, so that one nobody has opened yet is mended while there is signal. */
export async function checkAll() {
  for (const file of Object.keys(PRECACHE.files)) await lookUp(file).catch(() => {});
}

/**
 * Fetch every file into this version's cache; files that the version before already has are copied.
 * If one fails, the cache is removed and the old version goes on as if nothing had happened.
 * @param {(done: number, total: number) => void} progress
 */
export async function fill(progress) {
  const paths = Object.keys(PRECACHE.files);
  const cache = await caches.open(NAME);
  let done = 0;
  try {
    for (const path of paths) {
      if (!(await cache.match(path))) await cache.put(path, await genuine(path));
      done += 1;
      progress(done, paths.length);
    }
  } catch (error) {
    await caches.delete(NAME);
    throw error;
  }
}

/** Remove the caches of earlier versions; called once this version has taken over. */
export async function dropOthers() {
  for (const name of await caches.keys()) {
    if (name.startsWith(PREFIX) && name !== NAME) await caches.delete(name);
  }
}

/**
 * A file that must be there.
 * @param {string} path
 * @returns {Promise<Response>}
 */
export async function cached(path) {
  const found = await lookUp(path);
  if (!found) throw new Error(`${path} is not part of this build`);
  return found;
}

/**
 * The file for a path, or undefined when the path is none of the app's files. One that is damaged or lost is fetched
 * again when there is signal, and is an error when there is none.
 * @param {string} path
 * @returns {Promise<Response | undefined>}
 */
export async function lookUp(path) {
  const file = path.endsWith("/") ? `${path}index.html` : path;
  if (!(file in PRECACHE.files)) return undefined;
  const cache = await caches.open(NAME);
  const found = await cache.match(file);
  if (found && whole.has(file)) return found;
  const sound = found && (await hasHash(found.clone(), PRECACHE.files[file])) ? found : await mend(cache, file);
  whole.add(file);
  broken.delete(file);
  return sound;
}

/**
 * @param {Cache} cache
 * @param {string} file
 */
async function mend(cache, file) {
  whole.delete(file);
  broken.add(file);
  const fresh = await genuine(file);
  await cache.put(file, fresh.clone());
  return fresh;
}

/**
 * The file whose hash the build wrote down, from an older cache or from the network.
 * @param {string} path
 * @returns {Promise<Response>}
 */
async function genuine(path) {
  const kept = await caches.match(path);
  if (kept && (await hasHash(kept.clone(), PRECACHE.files[path]))) return kept;
  const response = await fetch(path, { cache: "no-store", redirect: "error" });
  if (!response.ok) throw new Error(`${path}: the server answered ${response.status}`);
  // A copy without the "redirected" mark and network headers: navigations refuse the former.
  const bytes = await response.arrayBuffer();
  const type = response.headers.get("Content-Type") ?? "application/octet-stream";
  const copy = new Response(bytes, { headers: headers(type, response) });
  if (!(await hasHash(copy.clone(), PRECACHE.files[path]))) throw new Error(`${path}: not the file of this build`);
  return copy;
}

/**
 * @param {string} type
 * @param {Response} response
 */
function headers(type, response) {
  const kept = new Headers({ "Content-Type": type });
  const policy = response.headers.get("Content-Security-Policy");
  if (policy) kept.set("Content-Security-Policy", policy);
  return kept;
}

/**
 * @param {Response} response
 * @param {string} hash SHA-256 in hex
 */
async function hasHash(response, hash) {
  return (await sha256(await response.arrayBuffer())) === hash;
}

/**
 * @param {ArrayBuffer} bytes
 * @returns {Promise<string>} SHA-256 in hex
 */
export async function sha256(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
