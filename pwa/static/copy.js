// A button that hands on a text of its page: `data-copy` names the element that holds it.

document.addEventListener("click", (event) => {
  const button = event.target instanceof Element ? event.target.closest("button[data-copy]") : null;
  if (button instanceof HTMLButtonElement) void handOn(button);
});

/** @param {HTMLButtonElement} button */
async function handOn(button) {
  const place = /** @type {HTMLElement} */ (document.getElementById(button.dataset.copy ?? ""));
  const text = place.textContent ?? "";
  if (navigator.canShare?.({ text })) return navigator.share({ text }).catch(() => {}); // closed again: nothing to say
  try {
    await navigator.clipboard.writeText(text);
    button.textContent = "Copied";
  } catch {
    getSelection()?.selectAllChildren(place);
    button.textContent = "Selected: copy it";
  }
}
