// Takes a photo through the phone's own camera or the page's: scaled, stripped and measured here, then sent like
// any form. The worker stores its bytes before anything is asked about them.

import * as kept from "./kept.js";
import { measure } from "./pixels.js";

const LONG_SIDE = 2000; // px; enough to tap a mark on, small enough for a bar of signal
const QUALITY = 0.85;
const WAITING = "layby camera"; // where the person was when the camera opened

document.addEventListener("click", ({ target }) => {
  // A phone short of memory may end this page while the camera is open; the next page offers the way back.
  if (isCamera(target)) void kept.keep(WAITING, location.pathname);
});

document.addEventListener("change", ({ target }) => {
  if (isCamera(target) && target.files?.length) void take(target);
});

// The camera was closed without a photo.
document.addEventListener("cancel", ({ target }) => isCamera(target) && kept.forget(WAITING), true);

/**
 * @param {EventTarget | null} target
 * @returns {target is HTMLInputElement}
 */
function isCamera(target) {
  return target instanceof HTMLInputElement && target.type === "file" && target.name === "photo";
}

/** @param {HTMLInputElement} input */
async function take(input) {
  const form = /** @type {HTMLFormElement} */ (input.form);
  const original = /** @type {FileList} */ (input.files)[0];
  say(form, "Looking at the photo…");
  const bytes = await original.arrayBuffer().catch(() => undefined);
  if (!bytes?.byteLength) {
    input.value = "";
    say(form, bytes ? "This file is empty: there is no photo in it. Take it again." : "The phone gave the photo away before it could be kept. Take it again.");
    return;
  }
  let picture;
  try {
    if (isCut(new Uint8Array(bytes))) throw new Error("WebKit draws what there is of a picture, and grey below.");
    picture = await createImageBitmap(original);
    await keep(form, picture);
  } catch {
    // Damaged, too large for this phone, or of a camera's own format: the original can be opened elsewhere.
    for (const name of ["width", "height", "pixels"]) set(form, name, "");
    send(form, new File([bytes], "photo", { type: original.type || "application/octet-stream" }));
  } finally {
    picture?.close();
  }
}

/**
 * Whether a JPEG ends before its end (ISO/IEC 10918-1, annex B: segments, then a scan up to the marker FF D9).
 * @param {Uint8Array} bytes
 */
function isCut(bytes) {
  if (bytes[0] !== 0xff || bytes[1] !== 0xd8) return false;
  let at = 2;
  while (bytes[at] === 0xff && bytes[at + 1] !== 0xda) at += 2 + bytes[at + 2] * 256 + bytes[at + 3];
  for (; at < bytes.length - 1; at += 1) if (bytes[at] === 0xff && bytes[at + 1] === 0xd9) return false;
  return true;
}

/**
 * Put a picture into the form, as a JPEG of at most LONG_SIDE, upright, with its pixels' numbers, and send it.
 * Drawing it anew drops the place and the camera's data.
 * @param {HTMLFormElement} form
 * @param {CanvasImageSource & {width: number, height: number}} picture
 */
export async function keep(form, picture) {
  const scale = Math.min(1, LONG_SIDE / Math.max(picture.width, picture.height));
  const [width, height] = [Math.round(picture.width * scale), Math.round(picture.height * scale)];
  const canvas = document.createElement("canvas");
  canvas.width = width;
  canvas.height = height;
  /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d")).drawImage(picture, 0, 0, width, height);
  const blob = await new Promise((/** @type {(blob: Blob | null) => void} */ done) => canvas.toBlob(done, "image/jpeg", QUALITY));
  set(form, "width", String(width));
  set(form, "height", String(height));
  set(form, "pixels", JSON.stringify(measure(picture)));
  if (blob) send(form, new File([blob], "photo.jpg", { type: "image/jpeg" }));
  else say(form, "The photo could not be written. Take it again.");
}

/**
 * Plain file names only: WebKit's service worker loses a file whose name has other characters.
 * @param {HTMLFormElement} form
 * @param {File} file
 */
function send(form, file) {
  const list = new DataTransfer();
  list.items.add(file);
  /** @type {HTMLInputElement} */ (form.querySelector("input[type=file]")).files = list.files;
  void kept.forget(WAITING);
  say(form, "Storing the photo…");
  form.requestSubmit();
}

/**
 * @param {HTMLFormElement} form
 * @param {string} name
 * @param {string} value
 */
function set(form, name, value) {
  /** @type {HTMLInputElement} */ (form.elements.namedItem(name)).value = value;
}

/**
 * @param {HTMLFormElement} form
 * @param {string} text
 */
function say(form, text) {
  /** @type {HTMLElement} */ (form.querySelector("[role=status]")).textContent = text;
}

const waiting = await kept.recall(WAITING);
if (waiting) {
  await kept.forget(WAITING);
  const link = document.createElement("a");
  link.className = "go";
  link.href = waiting;
  link.textContent = "You were taking a photo. Go on there";
  if (location.pathname !== waiting) document.getElementById("news")?.replaceChildren(link);
}
