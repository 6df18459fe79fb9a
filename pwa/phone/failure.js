// What failed, as text that a person can send in: the version, the request, and Python's traceback. It stays with the
// journal entry that waits, and the newest stays where /phone and /rescue.html find it.

import { cached, version } from "./precache.js";
import * as store from "./store.js";

const LINES = "/phone/template-lines.json";
const PLACE = /File "(pages\/\w+\.py)", line (\d+)/g;

/** The request failed, but what was typed is in the journal. */
export class Kept extends Error {
  /**
   * @param {unknown} cause
   * @param {number | undefined} entry its number in the journal
   */
  constructor(cause, entry) {
    super("The answer failed; the entry is kept.", { cause });
    this.entry = entry;
  }
}

/** Where each template's compiled module has its lines: template, then [line of the module, line of the template]. */
/** @typedef {{[module: string]: [string, [number, number][]]}} Lines */

/**
 * Keep what is known of a failure. Nothing here may fail in its turn: then it is not kept.
 * @param {unknown} error
 * @param {{method: string, path: string, entry?: number}} asked
 * @returns {Promise<string>} the text
 */
export async function note(error, { method, path, entry }) {
  const at = Date.now();
  const text = [`Layby ${version}`, new Date(at).toISOString(), `${method} ${path}`, await traceback(error)].join("\n");
  await store.failed({ at, text }, entry).catch(() => {});
  return text;
}

/** @param {unknown} error */
async function traceback(error) {
  const cause = /** @type {any} */ (error instanceof Kept ? error.cause : error);
  const told = cause?.name === "PythonError" ? cause.message : cause?.stack?.includes(cause.message) ? cause.stack : String(cause);
  return inTemplates(told.trim()).catch(() => told);
}

/**
 * A traceback names the compiled modules; people know the templates.
 * @param {string} told
 * @returns {Promise<string>}
 */
async function inTemplates(told) {
  if (!told.includes('File "pages/')) return told;
  const lines = /** @type {Lines} */ (await (await cached(LINES)).json());
  return told.replace(PLACE, (whole, module, at) => {
    const [template, pairs] = lines[module] ?? ["", []];
    const last = pairs.filter(([line]) => line <= Number(at)).at(-1);
    return template ? `File "templates/${template}", line ${last?.[1] ?? 1}` : whole;
  });
}
