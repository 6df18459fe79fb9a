// On every page: tells the worker when to sync and when to try again, announces an update, and keeps half-typed forms.

import * as drafts from "./drafts.js";
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
  if (sent && !document.querySelector("[role=alert]")) drafts.dropAll(sent); // sent and accepted
  sessionStorage.removeItem("sent");
  void drafts.restore();
  void storage.tell();
}
