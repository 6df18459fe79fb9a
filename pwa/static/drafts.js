// What is typed survives a killed page: kept per path and field until its form has been answered. A form is sent under a
// mark, and the worker answers each mark once (sent.js). A draft is kept with the mark of its form: if the worker has that
// one, the draft is in the notebook or its journal already, and does not come back to be saved a second time.

import * as kept from "./kept.js";

const MARK = " mark"; // behind the key of a draft, for the mark of its form
const KEPT = "kept"; // the worker's answer

/** @typedef {HTMLElement & {name: string, form: HTMLFormElement | null}} Field */

/** The mark of a form, and what was sent under it, if it was. */
/** @type {WeakMap<HTMLFormElement, {mark: string, sent?: string}>} */
const marks = new WeakMap();

/** @param {HTMLFormElement} form */
function markOf(form) {
  const known = marks.get(form) ?? { mark: crypto.randomUUID() };
  marks.set(form, known);
  return known;
}

/**
 * The mark to send a form under: another one as soon as the form holds something else than was sent.
 * @param {HTMLFormElement} form
 * @param {[string, string][]} button name and value, if one was pressed
 */
export function markToSend(form, button) {
  const fields = [...new FormData(form), ...button];
  const content = JSON.stringify(fields.map(([name, value]) => [name, value instanceof File ? [value.name, value.size, value.lastModified] : value]));
  if ((markOf(form).sent ?? content) !== content) marks.delete(form);
  const known = markOf(form);
  known.sent = content;
  return known.mark;
}

/**
 * It was answered: when it is sent once more, that is another one.
 * @param {HTMLFormElement} form
 */
export const renew = (form) => marks.delete(form);

/** @param {Field} field */
const keyOf = (field) => `draft ${location.pathname} ${field.name}`;

/**
 * @param {EventTarget | null} target
 * @returns {target is HTMLInputElement | HTMLTextAreaElement}
 */
const isTyped = (target) =>
  (target instanceof HTMLInputElement && ["text", "search"].includes(target.type)) ||
  target instanceof HTMLTextAreaElement;

/**
 * In both: a full phone takes nothing into IndexedDB, and localStorage may reach the disk a minute late.
 * @param {string} key
 * @param {string} text
 */
function keep(key, text) {
  localStorage.setItem(key, text);
  void kept.keep(key, text);
}

/**
 * @param {string} key
 * @returns {Promise<string | undefined>}
 */
const recall = async (key) => localStorage.getItem(key) ?? (await kept.recall(key));

document.addEventListener("input", ({ target }) => {
  const field = /** @type {HTMLInputElement} */ (target);
  if (!(isTyped(target) || target instanceof HTMLSelectElement) || !field.name) return;
  if (field.form && markOf(field.form).sent !== undefined) renew(field.form);
  keepMark(field); // before the draft: never a draft under an older mark
  keep(keyOf(field), field.value);
});

/** @param {Field} field */
function keepMark(field) {
  if (!field.form) return;
  const [key, { mark }] = [keyOf(field) + MARK, markOf(field.form)];
  if (localStorage.getItem(key) !== mark) keep(key, mark);
}

let restoring = Promise.resolve();

/**
 * Put what was typed back into the forms of this page. One round after another: a second one beside the first could read
 * a draft, but its mark no more.
 */
export function restore() {
  restoring = restoring.then(restoreAll, restoreAll);
  return restoring;
}

async function restoreAll() {
  for (const field of document.querySelectorAll("input, textarea")) {
    if (!isTyped(field) || !field.name || field.value) continue;
    const draft = await recall(keyOf(field));
    if (draft === undefined || field.value) continue;
    const mark = await recall(keyOf(field) + MARK);
    const isSaved = mark !== undefined && (await isKept(mark));
    if (field.value) continue; // typed meanwhile
    if (isSaved) dropOne(keyOf(field));
    else {
      keepMark(field); // under a new one: what was sent under the old one may still be on its way
      field.value = draft;
      await restoreUnit(field.dataset.unit);
    }
  }
}

/**
 * Whether the worker has a form that was sent under this mark.
 * @param {string} mark
 */
async function isKept(mark) {
  const answer = await fetch(`/sent/${mark}`).catch(() => undefined);
  return answer?.ok === true && (await answer.text()) === KEPT;
}

/**
 * A number comes back with the unit it was typed in, and a unit never without its number.
 * @param {string | undefined} name
 */
async function restoreUnit(name) {
  const choice = name ? document.getElementsByName(name)[0] : undefined;
  const draft = choice instanceof HTMLSelectElement ? await recall(keyOf(choice)) : undefined;
  if (choice instanceof HTMLSelectElement && draft !== undefined) choice.value = draft;
}

/**
 * What was typed at a path is in a record now.
 * @param {string} path
 */
export function dropAll(path) {
  const prefix = `draft ${path} `;
  for (const key of Object.keys(localStorage)) if (key.startsWith(prefix)) localStorage.removeItem(key);
  void kept.forgetAll(prefix);
}

/** @param {string} draft its key */
function dropOne(draft) {
  for (const key of [draft, draft + MARK]) {
    localStorage.removeItem(key);
    void kept.forget(key);
  }
}
