// The notebook in the service worker: JSON text goes in and comes out; nothing but text crosses the border.

import { boot } from "./boot.js";
import { cached } from "./precache.js";

const HEAP = 8 * 1024 * 1024;

/**
 * The notebook as Python offers it (pwa/phone/host.py): text in, text out.
 * @typedef {{
 *   needs: (request: string) => string,
 *   answer: (request: string, rows: string) => string,
 *   mended: (rows: string, texts: string, device: string) => string,
 *   fork: (here: string, text: string, texts: string, device: string, newId: string, random: string) => string,
 *   judge: (texts: string, device: string, last: string) => string,
 * }} Notebook
 */

/** @type {Promise<Notebook> | undefined} */
let notebook;

/**
 * The running notebook; booted on first use, and again after the browser has killed the idle worker.
 * @returns {Promise<Notebook>}
 */
export function python() {
  notebook ??= start().catch((error) => {
    notebook = undefined;
    throw error;
  });
  return notebook;
}

/** @returns {Promise<Notebook>} */
async function start() {
  const { python: interpreter, content } = await boot(cached, HEAP);
  const host = interpreter.pyimport("pwa.phone.host");
  host.start(content);
  return host;
}
