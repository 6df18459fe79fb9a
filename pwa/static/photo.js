// Takes a photo through the phone's own camera: scaled and stripped here, then sent like any form.

const LONG_SIDE = 2000; // px; enough to tap a mark on, small enough for a bar of signal
const QUALITY = 0.85;
const WAITING = "layby camera"; // where the person was when the camera opened

document.addEventListener("click", ({ target }) => {
  // A phone short of memory may end this page while the camera is open; then the first page offers the way back.
  if (isCamera(target)) localStorage.setItem(WAITING, location.pathname);
});

document.addEventListener("change", ({ target }) => {
  if (isCamera(target) && target instanceof HTMLInputElement && target.files?.length) void take(target);
});

const isCamera = (/** @type {EventTarget | null} */ target) =>
  target instanceof HTMLInputElement && target.type === "file" && target.closest("form.photo") !== null;

/** @param {HTMLInputElement} input */
async function take(input) {
  const form = /** @type {HTMLFormElement} */ (input.form);
  const state = /** @type {HTMLElement} */ (form.querySelector("[role=status]"));
  const original = /** @type {FileList} */ (input.files)[0];
  state.textContent = "Making the photo smaller…";
  try {
    const { file, width, height } = await smaller(original);
    replace(input, file);
    set(form, "width", width);
    set(form, "height", height);
  } catch {
    // No browser engine decodes every camera's format. The original is kept as it is and can be opened elsewhere.
    replace(input, new File([original], "photo", { type: original.type }));
    state.textContent = "This phone cannot show the photo's format; it is kept as it is.";
  }
  localStorage.removeItem(WAITING);
  form.requestSubmit();
}

/**
 * The photo as a JPEG of at most LONG_SIDE, upright; drawing it anew drops place and camera data.
 * @param {File} original
 */
async function smaller(original) {
  const full = await createImageBitmap(original);
  const scale = Math.min(1, LONG_SIDE / Math.max(full.width, full.height));
  const [width, height] = [Math.round(full.width * scale), Math.round(full.height * scale)];
  const canvas = document.createElement("canvas");
  canvas.width = width;
  canvas.height = height;
  /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d")).drawImage(full, 0, 0, width, height);
  full.close();
  const blob = await new Promise((/** @type {(blob: Blob | null) => void} */ done) => canvas.toBlob(done, "image/jpeg", QUALITY));
  if (!blob) throw new Error("The photo could not be written.");
  return { file: new File([blob], "photo.jpg", { type: "image/jpeg" }), width, height };
}

/**
 * Plain file names only: WebKit's service worker loses a file whose name has other characters.
 * @param {HTMLInputElement} input
 * @param {File} file
 */
function replace(input, file) {
  const list = new DataTransfer();
  list.items.add(file);
  input.files = list.files;
}

/**
 * @param {HTMLFormElement} form
 * @param {string} name
 * @param {number} value
 */
function set(form, name, value) {
  /** @type {HTMLInputElement} */ (form.elements.namedItem(name)).value = String(value);
}

const waiting = localStorage.getItem(WAITING);
if (waiting && location.pathname === "/") {
  const link = document.createElement("a");
  link.className = "go";
  link.href = waiting;
  link.textContent = "You were taking a photo. Go on there";
  document.getElementById("news")?.replaceChildren(link);
  localStorage.removeItem(WAITING);
}
