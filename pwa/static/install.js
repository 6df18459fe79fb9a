// The first page: keeps the app on this phone, shows how far it is, and says plainly when that cannot be.

import { tell } from "./storage.js";

const $ = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById(id));
const bar = /** @type {HTMLProgressElement} */ ($("bar"));

/** @param {string} text */
function refuse(text) {
  $("state").textContent = text;
  $("state").className = "verdict bad";
  bar.hidden = true;
}

async function install() {
  const container = navigator.serviceWorker;
  if (!isSecureContext) return refuse("This address is not secure (no HTTPS), so the browser cannot keep Layby. Ask the shop for its https address.");
  if (!container) return refuse("This browser cannot keep an app for use without signal (no service worker). A private window often is the reason: open Layby in a normal window, or in another browser.");
  if (!(await canStore())) return refuse("This browser does not let Layby store anything; in a private window that is usual. Open Layby in a normal window.");
  container.addEventListener("message", ({ data }) => {
    if (data.kind === "progress") show(data.done, data.total);
  });
  const registration = await container.register("/worker.js", { updateViaCache: "none" });
  const coming = registration.installing ?? registration.waiting;
  coming?.addEventListener("statechange", () => {
    if (coming.state === "redundant") refuse("Not everything could be fetched. Check the signal and open this page again; nothing half-done is kept.");
  });
  // After a hard reload the page stays without the worker that is active; a plain reload brings it back.
  if (registration.active && !container.controller && !sessionStorage.getItem("reloaded")) {
    sessionStorage.setItem("reloaded", "yes");
    return location.reload();
  }
  sessionStorage.removeItem("reloaded");
  const controlled = new Promise((resolve) => container.addEventListener("controllerchange", resolve, { once: true }));
  await container.ready;
  if (!container.controller) await controlled;
  return ready();
}

/**
 * @param {number} done
 * @param {number} total
 */
function show(done, total) {
  if (!$("open").hidden) return; // the last word of the worker may come late
  bar.max = total;
  bar.value = done;
  $("state").textContent = `Keeping ${done} of ${total} files on this phone`;
}

async function ready() {
  bar.max = bar.value = 1;
  $("state").textContent = "Ready without signal.";
  $("state").className = "verdict good";
  $("open").hidden = false;
  const kept = await persisted();
  $("kept").textContent = kept
    ? "The browser has promised to keep your notes."
    : "The browser has not promised to keep your notes for good. It is asked when you save the first one. Add Layby to the home screen, and send your notes to the shop whenever there is signal. In a private window everything is gone once you close it.";
  // Arrived by a hard reload or a link into a job: go on to where the person wanted to be.
  if (location.pathname !== "/") location.reload();
}

/** @returns {Promise<boolean>} whether storage is safe from clearing; a browser may not answer, so wait briefly */
function persisted() {
  const asked = navigator.storage?.persisted?.() ?? Promise.resolve(false);
  return Promise.race([asked, new Promise((/** @type {(value: boolean) => void} */ resolve) => setTimeout(resolve, 3000, false))]);
}

/** @returns {Promise<boolean>} */
function canStore() {
  return new Promise((resolve) => {
    try {
      const request = indexedDB.open("layby-trial");
      request.onsuccess = () => {
        request.result.close();
        indexedDB.deleteDatabase("layby-trial");
        resolve(true);
      };
      request.onerror = () => resolve(false);
    } catch {
      resolve(false);
    }
  });
}

void tell();
install().catch((error) => refuse(`Layby could not be kept on this phone: ${error.message}`));
