// What this window's storage is worth, as far as the browser lets it be told, and asking the browser to keep it.

/**
 * A tab whose storage goes after seven days without use: so it is in Safari's engine on iOS, and on a Mac, unless the
 * page was started from the home screen. No other engine has these two names.
 */
const inTab = () =>
  ("standalone" in navigator || "GestureEvent" in window) &&
  !(/** @type {any} */ (navigator).standalone) &&
  !matchMedia("(display-mode: standalone)").matches;

/**
 * Firefox's and Safari's private windows refuse the page's own file system. Where there is none, or in a Chromium,
 * whose private windows have one, nothing can be told.
 */
async function isPrivate() {
  try {
    await navigator.storage?.getDirectory?.();
    return false;
  } catch (error) {
    return ["SecurityError", "UnknownError"].includes(/** @type {any} */ (error)?.name);
  }
}

/** Show the paragraphs that are true of this window: those with data-when. */
export async function tell() {
  const told = [...document.querySelectorAll("[data-when]")];
  if (!told.length) return;
  const is = { tab: inTab(), private: await isPrivate() };
  for (const place of told) {
    const { when } = /** @type {HTMLElement} */ (place).dataset;
    /** @type {HTMLElement} */ (place).hidden = !is[/** @type {"tab" | "private"} */ (when)];
  }
}

const ASKED = "asked to keep";

/**
 * Ask, in the tap that saves something, that the browser keep what is here: once a session, for a browser that asks the
 * person should not do so each time. The answer is not waited for: some browsers never give one.
 */
export function ask() {
  if (sessionStorage.getItem(ASKED)) return;
  sessionStorage.setItem(ASKED, "yes");
  void navigator.storage?.persist?.().catch(() => {});
}
