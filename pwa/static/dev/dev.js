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
  if (now && known && now !== known) {
    if (document.body.dataset.host === "phone") await (await worker?.getRegistration())?.update();
    else location.reload();
  }
  known = now ?? known;
  setTimeout(look, PAUSE);
}

// The worker of such a build takes over by itself (phone/worker.js).
worker?.addEventListener("controllerchange", () => location.reload());
void look();
