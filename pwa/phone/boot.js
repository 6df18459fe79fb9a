// Boots MicroPython in a worker. The service worker and the reader of recordings each have one of their own.

import { loadMicroPython } from "@micropython/micropython-webassembly-pyscript/micropython.mjs";

const WASM = "/phone/micropython.wasm";

/**
 * @param {(path: string) => Promise<Response>} file gives a file of the build
 * @param {number} heapsize bytes to begin with; the interpreter takes more when it needs more
 * @returns {Promise<{python: any, content: string}>} the interpreter with all modules, and the content's JSON
 */
export async function boot(file, heapsize) {
  answerForWasm(file);
  const [python, pack, content] = await Promise.all([
    loadMicroPython({ url: WASM, heapsize }),
    file("/phone/python.pack").then((response) => response.arrayBuffer()),
    file("/phone/content.json").then((response) => response.text()),
  ]);
  unpack(python.FS, pack);
  return { python, content };
}

/**
 * MicroPython fetches its own wasm, and a service worker's fetch does not come back to its own handler.
 * @param {(path: string) => Promise<Response>} file
 */
function answerForWasm(file) {
  const network = self.fetch;
  self.fetch = (input, init) => {
    if (!String(input instanceof Request ? input.url : input).endsWith(WASM)) return network(input, init);
    self.fetch = network; // asked once
    return file(WASM);
  };
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
