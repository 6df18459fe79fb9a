// This phone's signing key, and what it signs: where this phone's chain is (server/signing.py). The key is made in the
// browser, which never gives it out: not to this app either. Without one, everything works and stays unsigned.

import { COUNTERSIGNED_TEXT, HEAD_TEXT } from "./contract.js";
import * as store from "./store.js";

const ALGORITHM = { name: "ECDSA", namedCurve: "P-256", hash: "SHA-256" };
const USES = /** @type {KeyUsage[]} */ (["sign", "verify"]);

/**
 * The end of a chain as the phone signs it, and as the shop gives it back countersigned; keys and signatures in
 * base64url, times in ms since 1970.
 * @typedef {{key: string, seq: number, head: string, time: number, signature: string}} Signed
 * @typedef {Signed & {device: string, received: number, shop_key: string, shop_spki: string, countersignature: string}} Countersigned
 */

const encoder = new TextEncoder();

/** @type {Promise<CryptoKeyPair | undefined> | undefined} */
let pair;

/** @returns {Promise<CryptoKeyPair | undefined>} made on first use; undefined where the browser cannot make or keep one */
function keyPair() {
  pair ??= made()
    .catch((error) => void console.error(error))
    .then(async (found) => {
      if (Boolean(await store.fact("keyless")) === Boolean(found)) await store.setFact("keyless", !found).catch(() => {});
      return found ?? undefined;
    });
  return pair;
}

async function made() {
  if (await store.fact("key")) return kept();
  if (!crypto.subtle) return undefined; // an address without https
  await store.setFact("key", await crypto.subtle.generateKey(ALGORITHM, false, USES));
  return kept();
}

/** @returns {Promise<CryptoKeyPair | undefined>} the key out of the storage: one that does not come back is worth nothing */
async function kept() {
  const found = await store.fact("key");
  return found?.privateKey instanceof CryptoKey ? found : undefined;
}

/** A phone that goes on as another device (fork.js) needs a key of its own: the copy it was made of has the old one. */
export function forget() {
  pair = undefined;
}

/** @returns {Promise<string | undefined>} */
export async function publicKey() {
  const known = await keyPair();
  return known && base64url(await crypto.subtle.exportKey("spki", known.publicKey));
}

/**
 * @param {string} device
 * @param {number} seq
 * @param {string} head
 * @returns {Promise<Signed | undefined>} undefined where there is no key
 */
export async function sign(device, seq, head) {
  const [known, key, time] = [await keyPair(), await publicKey(), Date.now()];
  if (!known || !key) return undefined;
  const text = [HEAD_TEXT, device, seq, head, time].join("\n");
  return { key, seq, head, time, signature: base64url(await crypto.subtle.sign(ALGORITHM, known.privateKey, encoder.encode(text))) };
}

/**
 * Whether the shop signed what it says here of a head: then it cannot say later that it never had it.
 * @param {Countersigned} said
 */
export async function isCountersigned(said) {
  const { device, seq, head, time, signature, received } = said;
  const text = [COUNTERSIGNED_TEXT, device, seq, head, time, signature, received].join("\n");
  const key = await crypto.subtle.importKey("spki", bytes(said.shop_spki), ALGORITHM, false, ["verify"]);
  return crypto.subtle.verify(ALGORITHM, key, bytes(said.countersignature), encoder.encode(text));
}

/** @param {ArrayBuffer} raw */
function base64url(raw) {
  return btoa(String.fromCharCode(...new Uint8Array(raw))).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

/** @param {string} text */
function bytes(text) {
  return Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), (letter) => letter.charCodeAt(0));
}
