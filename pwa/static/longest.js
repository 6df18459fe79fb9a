// Text fields with a limit say how much room is left once it gets short, and how much is too much. Nothing is cut.

const SHORT = 10; // of a hundred that are left

document.addEventListener("input", ({ target }) => tell(target));
document.addEventListener("htmx:after:swap", tellAll);

function tellAll() {
  for (const field of document.querySelectorAll("[data-longest]")) tell(field);
}

/** @param {EventTarget | null} target */
function tell(target) {
  if (!(target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement)) return;
  const longest = Number(target.dataset.longest);
  if (!longest) return;
  const left = longest - lengthOf(target.value);
  const said = left < 0 ? `${-left} too many: ${longest} characters fit. Shorten it before you save.` : `${left} characters left.`;
  const line = lineBelow(target, left * 100 <= longest * SHORT);
  if (line) line.textContent = left * 100 <= longest * SHORT ? said : "";
  line?.classList.toggle("error", left < 0);
}

/**
 * As the notebook counts: letters, not their halves; a form sends each line's end as two.
 * @param {string} text
 */
const lengthOf = (text) => [...text.trim().replace(/\r?\n/g, "\r\n")].length;

/**
 * The line below a field; it is made once there is something to say.
 * @param {HTMLElement} field
 * @param {boolean} make
 */
function lineBelow(field, make) {
  const next = field.nextElementSibling;
  if (next instanceof HTMLElement && next.classList.contains("room-left")) return next;
  if (!make) return null;
  const line = document.createElement("p");
  line.className = "hint room-left";
  line.setAttribute("role", "status");
  field.after(line);
  return line;
}

tellAll();
