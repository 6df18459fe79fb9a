// Only in what `layby dev` builds: each new build is taken at once, and the page comes again.

const PAUSE = 500; // ms
const WORKER = "/worker.js"; // its ETag stands for the whole build
const worker = navigator.serviceWorker;

/** @type {string | null | undefined} */
let known;

/** @returns {Promise<string | null | undefined>} undefined while the server begins again */
const served = () => fetch(WORKER, { method: "HEAD", cache: "no-store" }).then((answer) => answer.headers.get("ETag"), () => undefined);

async function look() {
  const now = await served();
  // A build that could not be taken is asked for again: it may have been looked at while its files were changed.
  if (!now || !known || now === known || (await take().catch(() => false))) known = now ?? known;
  setTimeout(look, PAUSE);
}

/** @returns {Promise<boolean>} whether the new build is here */
async function take() {
  if (document.body.dataset.host !== "phone") {
    location.reload();
    return true;
  }
  const registration = await worker.getRegistration();
  await registration?.update();
  const coming = registration?.installing;
  if (!coming) return true;
  await new Promise((done) => coming.addEventListener("statechange", done, { once: true }));
  return coming.state !== "redundant";
}

// The worker of such a build takes over by itself (phone/worker.js).
worker?.addEventListener("controllerchange", () => location.reload());
void look();
