// One recording on its way through its worker: what is asked of it, and the last it said.

const REMEMBERED = "layby columns"; // what was chosen for the columns of earlier files, on this device
const KEEP = 30; // files' columns that are remembered

/** One file being read. It outlives its page, so that the handbook can be looked at meanwhile. */
export class Session {
  /**
   * @param {string} script
   * @param {File} file
   * @param {(news: any) => void} tell
   */
  constructor(script, file, tell) {
    this.tell = tell;
    this.path = location.pathname;
    this.name = file.name;
    /** @type {{[kind: string]: any}} the last of each kind of news */
    this.said = {};
    this.reading = true;
    this.worker = new Worker(script);
    this.worker.onmessage = ({ data }) => this.hear(data);
    this.worker.onerror = (event) => {
      event.preventDefault();
      this.hear({ kind: "broken", message: event.message ?? "" });
    };
    this.ask({ do: "read", file, remembered: remembered() });
  }

  /** @param {object} task */
  ask(task) {
    this.worker.postMessage(task);
  }

  end() {
    this.worker.terminate();
  }

  /** @param {any} news */
  hear(news) {
    if (news.kind === "remember") return remember(news.signature, news.mapping);
    if (news.kind === "broken") console.error(news.message);
    this.reading = news.kind === "progress";
    if (news.kind === "shown") this.said = {};
    if (!this.reading) delete this.said.refused;
    if (news.kind === "moved") delete this.said.judged; // the verdict was of another part
    this.said[news.kind] = news;
    this.tell(news);
  }
}

/** @returns {{[signature: string]: object}} */
function remembered() {
  try {
    return JSON.parse(localStorage.getItem(REMEMBERED) ?? "{}");
  } catch {
    return {};
  }
}

/**
 * @param {string} signature
 * @param {object} mapping
 */
function remember(signature, mapping) {
  const { [signature]: _, ...others } = remembered();
  const kept = [...Object.entries(others), [signature, mapping]].slice(-KEEP);
  localStorage.setItem(REMEMBERED, JSON.stringify(Object.fromEntries(kept)));
}
