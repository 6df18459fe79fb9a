// Boots MicroPython inside the worker and hands it JSON text; nothing but text crosses the border.

import { loadMicroPython } from "@micropython/micropython-webassembly-pyscript/micropython.mjs";

import { cached } from "./precache.js";

const WASM = "/phone/micropython.wasm";
const HEAP = 8 * 1024 * 1024;

/**
 * The notebook as Python offers it (pwa/phone/host.py): text in, text out.
 * @typedef {{
 *   needs: (request: string) => string,
 *   answer: (request: string, records: string) => string,
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
  notebook ??= boot().catch((error) => {
    notebook = undefined;
    throw error;
  });
  return notebook;
}

/** @returns {Promise<Notebook>} */
async function boot() {
  serveWasmFromCache();
  const [interpreter, pack, content] = await Promise.all([
    loadMicroPython({ url: WASM, heapsize: HEAP }),
    cached("/phone/python.pack").then((response) => response.arrayBuffer()),
    cached("/phone/content.json").then((response) => response.text()),
  ]);
  unpack(interpreter.FS, pack);
  const host = interpreter.pyimport("pwa.phone.host");
  host.start(content);
  return host;
}

/** MicroPython fetches its own wasm, and a worker's fetch does not come back to its own handler. */
function serveWasmFromCache() {
  const network = self.fetch;
  self.fetch = (input, init) =>
    String(input instanceof Request ? input.url : input).endsWith(WASM) ? cached(WASM) : network(input, init);
}

/**
 * Write the compiled modules into the interpreter's file system. The pack is one line of JSON,
 * [[path, size], ...], and then the files' bytes in that order.
 * @param {any} fs
 * @param {ArrayBuffer} pack
 */
function unpack(fs, pack) {
  const bytes = new Uint8Array(pack);
  const end = bytes.indexOf(10);
  let at = end + 1;
  for (const [path, size] of JSON.parse(new TextDecoder().decode(bytes.subarray(0, end)))) {
    fs.mkdirTree(path.slice(0, path.lastIndexOf("/")));
    fs.writeFile(path, bytes.subarray(at, at + size));
    at += size;
  }
}
