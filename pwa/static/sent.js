// A form on the phone is answered by the worker, or it is not answered. WebKit may end the process that holds worker
// and storage under a page that looks alive; the form then goes to the shop's server, or nowhere. One reload brings
// both back, and the form is sent again under the same mark, which the worker answers once however often it comes.

import { markToSend, renew } from "./drafts.js";

const UNANSWERED = "unanswered form";
const PHOTO = "photo of the unanswered form"; // a cache: after the loss it is the one storage for bytes that still works
const OURS = "Layby-Host"; // on every answer of the worker to a page's script
const MARK = "Layby-Mark";
const TOKEN = "layby-token"; // contract.py: FORM_TOKEN

/**
 * What was sent and not answered; `tries` counts reloads for it.
 * @typedef {{page: string, action: string, mark: string, fields: [string, string][], button: string[], tries: number}} Unanswered
 */

const MOST_TRIES = 1;

/** @type {Unanswered | undefined} */
let resending;

if (document.body.dataset.host === "phone") {
  document.addEventListener("htmx:config:request", mark);
  document.addEventListener("htmx:before:response", (event) => {
    const { ctx } = detailOf(event);
    if (!ctx.response.headers.has(OURS)) {
      event.preventDefault();
      void lost(ctx);
    } else if (isForm(ctx)) answered(ctx.sourceEvent.target);
  });
  document.addEventListener("htmx:error", (event) => {
    const { ctx } = detailOf(event);
    if (ctx && !ctx.response) void lost(ctx);
  });
  void sendAgain();
}

/** @param {Event} event */
function detailOf(event) {
  return /** @type {CustomEvent} */ (event).detail;
}

/** @param {any} ctx */
function isForm(ctx) {
  return ctx.sourceEvent?.type === "submit";
}

/**
 * @param {any} ctx
 * @returns {[string, string][]}
 */
function buttonPressed({ sourceEvent: { submitter } }) {
  return submitter?.name ? [[submitter.name, submitter.value]] : [];
}

/** @param {Event} event */
function mark(event) {
  const { ctx } = detailOf(event);
  if (isForm(ctx)) ctx.request.headers[MARK] = resending?.mark ?? markToSend(ctx.sourceEvent.target, buttonPressed(ctx));
}

/** @param {HTMLFormElement} form */
function answered(form) {
  renew(form);
  resending = undefined;
  if (!sessionStorage.getItem(UNANSWERED)) return;
  sessionStorage.removeItem(UNANSWERED);
  void caches.delete(PHOTO);
}

/**
 * Nobody answered. A link is opened anew, a form kept and sent again; what a page asks by itself can wait.
 * @param {any} ctx
 */
async function lost(ctx) {
  if (ctx.sourceElement instanceof HTMLAnchorElement) return location.assign(ctx.request.action);
  if (!isForm(ctx)) return;
  const { form, submitter, headers, action } = ctx.request;
  const tries = (resending?.tries ?? 0) + 1;
  /** @type {[string, string][]} */
  const fields = [];
  for (const [name, value] of new FormData(form)) {
    if (typeof value === "string") fields.push([name, value]);
    else if (value.size) await (await caches.open(PHOTO)).put(`/${name}`, new Response(value));
  }
  const button = submitter?.name ? [submitter.name, submitter.value] : [];
  const kept = { page: location.pathname + location.search, action, mark: headers[MARK], fields, button, tries };
  sessionStorage.setItem(UNANSWERED, JSON.stringify(kept));
  sessionStorage.removeItem("sent"); // page.js: it was not accepted, so its drafts stay
  if (tries <= MOST_TRIES) location.reload();
  else say("This phone's storage does not answer. What you typed is still in the form. Close all Layby windows, open Layby again, then save.");
}

/** After the reload: fill the form as it was and send it. */
async function sendAgain() {
  const text = sessionStorage.getItem(UNANSWERED);
  if (!text) return;
  const kept = /** @type {Unanswered} */ (JSON.parse(text));
  // htmx takes the forms over when the page is there; before that they would be sent without their mark.
  if (document.readyState !== "complete") await new Promise((done) => addEventListener("load", done, { once: true }));
  const form = [...document.forms].find((other) => new URL(other.action).pathname === new URL(kept.action, location.href).pathname);
  if (location.pathname + location.search !== kept.page || !form) return;
  for (const name of new Set(kept.fields.map(([name]) => name))) {
    if (name === TOKEN) continue; // the page's own counts: the storage it came from may be a new one
    fill(form, name, kept.fields.filter(([other]) => other === name).map(([, value]) => value));
  }
  await restorePhoto(form);
  if (kept.tries > MOST_TRIES) return;
  resending = kept;
  form.requestSubmit(buttonOf(form, kept.button));
}

/**
 * @param {HTMLFormElement} form
 * @param {string} name
 * @param {string[]} values
 */
function fill(form, name, values) {
  const fields = [...form.elements].filter((field) => /** @type {HTMLInputElement} */ (field).name === name);
  const left = [...values];
  for (const field of /** @type {HTMLInputElement[]} */ (fields)) {
    if (["radio", "checkbox"].includes(field.type)) field.checked = values.includes(field.value);
    else if (!["submit", "button", "file"].includes(field.type)) field.value = left.shift() ?? field.value;
  }
}

/** @param {HTMLFormElement} form */
async function restorePhoto(form) {
  const input = form.querySelector("input[type=file]");
  if (!(input instanceof HTMLInputElement)) return;
  const kept = await (await caches.open(PHOTO)).match(`/${input.name}`);
  if (!kept) return;
  const list = new DataTransfer();
  const blob = await kept.blob();
  list.items.add(new File([blob], "photo.jpg", { type: blob.type }));
  input.files = list.files;
}

/**
 * @param {HTMLFormElement} form
 * @param {string[]} button name and value
 */
function buttonOf(form, [name, value]) {
  const found = [...form.elements].find(
    (field) => field instanceof HTMLButtonElement && field.name === name && field.value === value,
  );
  return name && found instanceof HTMLButtonElement ? found : undefined;
}

/** @param {string} text */
function say(text) {
  const line = document.createElement("p");
  line.setAttribute("role", "alert");
  line.textContent = text;
  document.getElementById("news")?.replaceChildren(line);
}
