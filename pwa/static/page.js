// On every page: tells the worker when to sync and when to try again, announces an update, and keeps half-typed forms.

import * as kept from "./kept.js";
import * as storage from "./storage.js";

const news = /** @type {HTMLElement} */ (document.getElementById("news"));
const worker = navigator.serviceWorker;
const RETRY = 60_000; // ms until an update that failed is tried again
const [FIRST_WAIT, LONGEST_WAIT] = [5_000, 300_000]; // ms until a sync that left something is tried again

if (document.body.dataset.host === "phone" && worker) {
  let tries = 0;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let next;
  worker.addEventListener("message", ({ data }) => {
    if (data.kind !== "synced") return;
    document.body.dispatchEvent(new Event("layby:synced"));
    clearTimeout(next);
    // Twice as long after each, and not all the shop's phones at once when its server is back.
    const wait = Math.min(FIRST_WAIT * 2 ** tries, LONGEST_WAIT) * (0.5 + Math.random() / 2);
    tries = data.due ? tries + 1 : 0;
    if (data.due) next = setTimeout(ask, wait);
  });
  const ask = () => {
    worker.controller?.postMessage("sync");
    // Chromium sends by itself once there is signal again, even with the page closed.
    if (!navigator.onLine) void worker.ready.then((/** @type {any} */ ready) => ready.sync?.register("layby").catch(() => {}));
  };
  addEventListener("online", ask);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && ask());
  let here = location.href;
  document.addEventListener("htmx:after:swap", () => {
    if (location.href !== here) ask(); // a new page, not a part of one
    here = location.href;
  });
  ask();
  watchForUpdates(worker);
}

/** @param {ServiceWorkerContainer} container */
async function watchForUpdates(container) {
  const registration = await container.getRegistration();
  if (!registration) return;
  const offer = () => registration.waiting && registration.active && announceUpdate(registration.waiting);
  const look = () => registration.update().catch(() => {}); // without a network there is nothing to fetch
  const follow = () => {
    const coming = registration.installing;
    coming?.addEventListener("statechange", () => {
      if (coming.state === "installed") offer();
      // update() itself does not fail when a file of the new version is missing.
      if (coming.state === "redundant") {
        say("The update did not come through. The version here goes on working; it is tried again as long as Layby is open with signal, and when you open it next.");
        setTimeout(look, RETRY);
      }
    });
  };
  registration.addEventListener("updatefound", follow);
  addEventListener("online", look);
  follow(); // one that the browser began before this page was there
  offer();
  void look();
}

/** @param {ServiceWorker} waiting */
function announceUpdate(waiting) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "go";
  button.textContent = "Take the update now";
  button.addEventListener("click", () => {
    worker.addEventListener("controllerchange", () => location.reload(), { once: true });
    waiting.postMessage("take");
  });
  say("A new version of Layby is ready. Your jobs stay as they are.", button);
}

/**
 * @param {string} text
 * @param {HTMLElement} [action]
 */
function say(text, action) {
  const line = document.createElement("p");
  line.textContent = text;
  news.replaceChildren(line, ...(action ? [action] : []));
}

// What is typed survives a killed page: kept per path and field until its form has been answered.
const keyOf = (/** @type {HTMLElement & {name: string}} */ field) => `draft ${location.pathname} ${field.name}`;
const isTyped = (/** @type {EventTarget | null} */ target) =>
  (target instanceof HTMLInputElement && ["text", "search"].includes(target.type)) ||
  target instanceof HTMLTextAreaElement;

document.addEventListener("input", ({ target }) => {
  const field = /** @type {HTMLInputElement} */ (target);
  if (!(isTyped(target) || target instanceof HTMLSelectElement) || !field.name) return;
  // In both: a full phone takes nothing into IndexedDB, and localStorage may reach the disk a minute late.
  localStorage.setItem(keyOf(field), field.value);
  void kept.keep(keyOf(field), field.value);
});

async function restoreDrafts() {
  for (const field of document.querySelectorAll("input, textarea")) {
    const input = /** @type {HTMLInputElement} */ (field);
    if (!isTyped(input) || !input.name || input.value) continue;
    const draft = await draftOf(input);
    if (draft === undefined || input.value) continue;
    input.value = draft;
    await restoreUnit(input.dataset.unit);
  }
}

/**
 * @param {HTMLElement & {name: string}} field
 * @returns {Promise<string | undefined>}
 */
const draftOf = async (field) => localStorage.getItem(keyOf(field)) ?? (await kept.recall(keyOf(field)));

/**
 * A number comes back with the unit it was typed in, and a unit never without its number.
 * @param {string | undefined} name
 */
async function restoreUnit(name) {
  const choice = name ? document.getElementsByName(name)[0] : undefined;
  const draft = choice instanceof HTMLSelectElement ? await draftOf(choice) : undefined;
  if (choice instanceof HTMLSelectElement && draft !== undefined) choice.value = draft;
}

/** A page that came after a form was sent and accepted: what was typed on the way is in the record now. */
function dropDrafts(/** @type {string} */ path) {
  const drafts = `draft ${path} `;
  for (const key of Object.keys(localStorage)) if (key.startsWith(drafts)) localStorage.removeItem(key);
  void kept.forgetAll(drafts);
}

/** @type {string} */
let sentFrom = "";
document.addEventListener("submit", () => {
  sentFrom = location.pathname;
  sessionStorage.setItem("sent", sentFrom);
  storage.ask();
});
document.addEventListener("htmx:after:swap", settle);
takeCode();
settle();

/** A link or a QR code brings its one-time code in the fragment, which never leaves this browser. */
function takeCode() {
  const code = /^#code=([\w-]+)$/.exec(location.hash)?.[1];
  const field = document.querySelector("input[name=code]");
  if (!code) return;
  history.replaceState(history.state, "", location.pathname);
  if (field instanceof HTMLInputElement) field.value = code;
}

function settle() {
  const sent = sessionStorage.getItem("sent");
  if (sent && !document.querySelector("[role=alert]")) dropDrafts(sent);
  sessionStorage.removeItem("sent");
  void restoreDrafts();
  void storage.tell();
}
