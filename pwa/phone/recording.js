// A worker of its own that reads one recording: the page stays free, and the service worker goes on answering.
//
// In come {do: "read", file, remembered} and then {do: "choose" | "move" | "judge", ...}; out go {kind:
// "progress" | "shown" | "moved" | "judged" | "refused" | "broken", ...}. What they mean is recorder.py's business.

import { boot } from "./boot.js";

const HEAP = 16 * 1024 * 1024;
const PIECE = 64 * 1024; // bytes; larger ones would make a stop wait, smaller ones take longer
const PATH = "/piece";

/** @type {{[name: string]: any}} */
let host;
/** @type {any} */
let fs;
/** @type {File} */
let file;

/** Its files come through the service worker, which has them in its cache. */
const fetched = (/** @type {string} */ path) => fetch(path);

const ready = boot(fetched, HEAP).then(({ python, content }) => {
  fs = python.FS;
  host = python.pyimport("pwa.phone.recorder");
  host.start(content);
});

/** @type {{[name: string]: (asked: any) => Promise<void> | void}} */
const TASKS = {
  read: async (asked) => {
    file = asked.file;
    host.begin(JSON.stringify({ name: file.name, size: file.size, remembered: asked.remembered }));
    await read();
  },
  choose: async (asked) => {
    const answer = JSON.parse(host.choose(JSON.stringify(asked)));
    if (answer.remember) self.postMessage({ kind: "remember", ...answer.remember });
    if (answer.again) await read();
    else show("shown", answer);
  },
  move: (asked) => show("moved", JSON.parse(host.move(JSON.stringify(asked)))),
  judge: (asked) => show("judged", JSON.parse(host.judge(JSON.stringify(asked)))),
};

// One after another: a picture asked for while another is drawn waits for it.
let queue = Promise.resolve();
self.onmessage = ({ data }) => {
  queue = queue
    .then(() => ready)
    .then(() => TASKS[data.do](data))
    .catch((error) => self.postMessage({ kind: "broken", message: String(error) }));
};

async function read() {
  for (let at = 0; at < file.size; at += PIECE) {
    const bytes = await file.slice(at, at + PIECE).arrayBuffer();
    fs.writeFile(PATH, new Uint8Array(bytes));
    const answer = JSON.parse(host.take());
    if (answer.refused) return show("shown", answer);
    self.postMessage({ kind: "progress", done: Math.min(at + PIECE, file.size), total: file.size, rows: answer.rows });
  }
  show("shown", JSON.parse(host.finish()));
}

/**
 * @param {string} kind
 * @param {{[name: string]: any}} answer
 */
function show(kind, answer) {
  self.postMessage(answer.refused ? { kind: "refused", of: kind, message: answer.refused } : { kind, ...answer });
}
