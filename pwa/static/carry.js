// Carrying jobs without a server: draws a case code as QR, hands a file to the share sheet, takes one in.

const QUIET = 4; // modules of white around a QR code (ISO/IEC 18004)
const LIBRARY = "/static/lean-qr.js";
const SVG = "http://www.w3.org/2000/svg";

document.addEventListener("htmx:after:swap", () => void draw());
void draw();

async function draw() {
  for (const place of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-qr]:empty"))) {
    const { generate } = await import(LIBRARY);
    place.replaceChildren(picture(generate(place.dataset.qr)));
  }
}

/** @param {{size: number, get: (x: number, y: number) => boolean}} code */
function picture(code) {
  const squares = [];
  for (let y = 0; y < code.size; y += 1) {
    for (let x = 0; x < code.size; x += 1) if (code.get(x, y)) squares.push(`M${x} ${y}h1v1h-1z`);
  }
  const side = code.size + 2 * QUIET;
  const drawing = document.createElementNS(SVG, "svg");
  drawing.setAttribute("viewBox", `${-QUIET} ${-QUIET} ${side} ${side}`);
  drawing.setAttribute("shape-rendering", "crispEdges");
  const path = document.createElementNS(SVG, "path");
  path.setAttribute("d", squares.join(""));
  drawing.append(path);
  return drawing;
}

// On the phone the file is made by the worker, and then shared or saved by a second tap: a share sheet opens only
// right after a touch. At the desk the link itself loads the file.
document.addEventListener("click", (event) => {
  const link = event.target instanceof Element ? event.target.closest("a[data-file]") : null;
  if (!(link instanceof HTMLAnchorElement) || document.body.dataset.host !== "phone") return;
  if (link.href.startsWith("blob:")) return;
  event.preventDefault();
  void make(link);
});

/** @param {HTMLAnchorElement} link */
async function make(link) {
  link.textContent = "Making the file…";
  try {
    const answer = await fetch(link.href);
    if (!answer.ok) throw new Error(`The answer was ${answer.status}.`);
    const name = link.dataset.file ?? "layby.zip";
    const file = new File([await answer.blob()], name, { type: "application/zip" });
    link.href = URL.createObjectURL(file);
    link.textContent = `Save ${name} (${Math.max(1, Math.round(file.size / 1024))} kB)`;
    if (navigator.canShare?.({ files: [file] })) link.after(" ", shareButton(file));
  } catch {
    link.textContent = "The file could not be made. Try again";
  }
}

/** @param {File} file */
function shareButton(file) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "go";
  button.textContent = "Share it";
  button.addEventListener("click", () => void navigator.share({ files: [file] }).catch(() => {}));
  return button;
}

// Before photo.js, which takes every other file for a picture.
for (const kind of ["click", "change"]) {
  document.addEventListener(
    kind,
    (event) => {
      const input = event.target;
      if (!(input instanceof HTMLInputElement) || !input.dataset.take) return;
      event.stopPropagation();
      const file = input.files?.[0];
      if (kind === "change" && file) void take(input.dataset.take, file);
    },
    true,
  );
}

/**
 * @param {string} address
 * @param {File} file
 */
async function take(address, file) {
  say(["Reading the file…"]);
  try {
    const answer = await fetch(address, { method: "POST", body: file, headers: { "Content-Type": "application/zip" } });
    const told = await answer.json();
    say(answer.ok ? summary(told) : [`Nothing was taken in. ${told.message}`]);
  } catch {
    say(["Nothing was taken in: the file could not be read, or there is no room. Try again."]);
  }
}

/** @param {{jobs: number, taken: number, had: number, photos: number, refused: number, named: string[]}} told */
function summary({ jobs, taken, had, photos, refused, named }) {
  const more = refused > named.length ? [`And ${refused - named.length} more.`] : [];
  const wrong = refused ? [`${refused} refused:`, ...named, ...more] : [];
  return [`${taken} entries of ${jobs} jobs and ${photos} photos taken in; ${had} entries were here already.`, ...wrong];
}

/** @param {string[]} lines */
function say(lines) {
  const place = /** @type {HTMLElement} */ (document.getElementById("taken"));
  place.replaceChildren(
    ...lines.map((text) => {
      const line = document.createElement("p");
      line.textContent = text;
      return line;
    }),
  );
}
