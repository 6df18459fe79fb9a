// <layby-recording>: hands a file to the worker that reads it, and shows what that worker says.

import { Session } from "./session.js";

const FIELD = 3020 / 3600; // the part of a chart's width in which it draws (pwa/app/recordings/chart.py)
const DRAG = 8; // CSS px that make a drag of a touch

/** @type {Session | undefined} */
let session;
/** @type {Page | undefined} */
let page;

function end() {
  session?.end();
  session = undefined;
}

class Page {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.part("cannot").hidden = true;
    this.part("choose").hidden = false;
    root.addEventListener("change", ({ target }) => this.changed(/** @type {HTMLElement} */ (target)));
    root.addEventListener("click", ({ target }) => this.clicked(/** @type {HTMLElement} */ (target)));
    root.addEventListener("submit", (event) => this.sent(event), { capture: true });
    this.dragged();
    if (session?.path !== location.pathname) end();
    else this.resume(session);
  }

  /**
   * Back on the page of a recording that is read or was read: all of it is still there.
   * @param {Session} session
   */
  resume(session) {
    for (const kind of ["shown", "moved", "judged", "refused", "broken", "progress"]) {
      if (session.said[kind] && (kind !== "progress" || session.reading)) this.show(session.said[kind]);
    }
  }

  /**
   * @param {string} name
   * @returns {HTMLElement}
   */
  part(name) {
    return this.root.querySelector(`[data-part=${name}]`) ?? document.createElement("p");
  }

  /**
   * @param {string} name
   * @param {string} html made by the worker's templates, which escape what is in the file
   */
  fill(name, html) {
    for (const place of this.root.querySelectorAll(`[data-fill=${name}]`)) place.innerHTML = html;
  }

  /**
   * Says it where the person looks: at the file, or at the part that is judged.
   * @param {string} text
   * @param {{bad?: boolean, at?: "state" | "answer"}} [how]
   */
  say(text, { bad = false, at = "state" } = {}) {
    for (const name of ["state", "answer"]) {
      const place = this.part(name);
      place.textContent = name === at ? text : "";
      place.className = bad && name === at ? "verdict bad" : "";
    }
  }

  /** @param {any} news */
  show(news) {
    this.part("reading").hidden = news.kind !== "progress";
    if (news.kind === "progress") this.progress(news);
    if (news.kind === "shown") this.found(news);
    if (news.kind === "moved") this.moved(news.pictures);
    if (news.kind === "judged") {
      this.judged(news);
      this.root.querySelector("[data-fill=verdict]")?.scrollIntoView({ block: "nearest" });
    }
    if (news.kind === "refused") this.say(news.message, { bad: true, at: news.of === "shown" ? "state" : "answer" });
    if (news.kind === "broken") this.say("The recording could not be read here. Choose it again, or a shorter part of it.", { bad: true });
  }

  /** @param {{done: number, total: number, rows: number}} news */
  progress({ done, total, rows }) {
    const bar = /** @type {HTMLProgressElement} */ (this.root.querySelector("progress"));
    bar.max = total;
    bar.value = done;
    this.say(`Reading ${session?.name}: ${rows} rows. You can go on working meanwhile.`);
  }

  /** @param {any} news */
  found(news) {
    const focus = document.activeElement instanceof HTMLElement ? document.activeElement.id : "";
    const open = this.part("found").querySelector("details:has(select)[open]");
    this.part("found").innerHTML = news.found;
    if (open) this.part("found").querySelector("details:has(select)")?.setAttribute("open", "");
    if (focus) document.getElementById(focus)?.focus();
    this.fill("codes", news.codes);
    this.fill("coded", String(news.coded));
    const name = this.root.querySelector("[name=file]");
    if (name instanceof HTMLInputElement) name.value = session?.name ?? "";
    for (const part of ["found", "look", "judge"]) this.part(part).hidden = false;
    this.part("what").hidden = true;
    this.root.querySelector("[data-part=choose] .go")?.classList.add("quiet");
    this.fill("choose", "Choose another file");
    this.part("codes").hidden = !news.coded;
    this.say("");
    this.moved(news.pictures);
  }

  /** @param {{html: string, from: string, to: string, unit: string}} pictures */
  moved(pictures) {
    this.fill("pictures", pictures.html);
    this.fill("unit", pictures.unit);
    this.write("from", pictures.from);
    this.write("to", pictures.to);
    this.say("");
    this.judged({ verdict: "", kept: "" });
  }

  /** @param {{verdict: string, kept: string}} news */
  judged({ verdict, kept }) {
    this.fill("verdict", verdict);
    const field = this.root.querySelector("[name=kept]");
    if (field instanceof HTMLInputElement) field.value = kept;
    this.part("save").hidden = !kept;
    this.say("");
  }

  /** @param {string} name */
  at(name) {
    return /** @type {HTMLInputElement} */ (this.root.querySelector(`[data-at=${name}]`));
  }

  /**
   * Writes a bound of the part, but not over what is being typed there.
   * @param {string} name
   * @param {string} text
   */
  write(name, text) {
    const input = this.at(name);
    if (input === document.activeElement && input.value !== input.dataset.shown) return;
    input.value = input.dataset.shown = text;
  }

  /** @param {HTMLElement} target */
  changed(target) {
    if (target instanceof HTMLInputElement && target.dataset.do === "file") return this.begin(target);
    if (target.dataset.at) return session?.ask({ do: "move", from: this.at("from").value, to: this.at("to").value });
    if (target.dataset.field) this.choose(target.dataset.field);
    else if (target.closest("form:has([data-at])")) this.judged({ verdict: "", kept: "" }); // a limit
  }

  /** @param {HTMLInputElement} input */
  begin(input) {
    const file = input.files?.[0];
    input.value = ""; // the same file can be chosen again
    if (!file) return;
    end();
    for (const part of ["found", "codes", "look", "judge"]) this.part(part).hidden = true;
    this.say(`Opening ${file.name}.`);
    session = new Session(this.root.dataset.worker ?? "", file, (news) => page?.show(news));
  }

  /** @param {string} changed */
  choose(changed) {
    /** @type {{[field: string]: string}} */
    const form = {};
    for (const select of this.root.querySelectorAll("select")) {
      if (select.dataset.field) form[select.dataset.field] = select.value;
    }
    session?.ask({ do: "choose", form, changed });
  }

  /** @param {HTMLElement} target */
  clicked(target) {
    const button = target.closest("button");
    if (!button) return;
    if (button.dataset.move) session?.ask({ do: "move", how: button.dataset.move });
    if (button.dataset.do === "judge") this.judge();
    if (button.dataset.do === "stop") {
      end();
      this.part("reading").hidden = true;
      this.say("Stopped. Nothing of the file was kept.");
    }
  }

  judge() {
    const form = /** @type {HTMLFormElement} */ (this.at("from").form);
    /** @type {{[name: string]: string[]}} */
    const typed = {};
    for (const [name, value] of new FormData(form)) typed[name] = [String(value)];
    this.judged({ verdict: "", kept: "" });
    this.say("Judging…", { at: "answer" });
    session?.ask({ do: "judge", form: typed, alone: !form.querySelector("[name=kept]") });
  }

  /**
   * Enter in a field judges; nothing goes out before there is a verdict.
   * @param {SubmitEvent} event
   */
  sent(event) {
    const form = /** @type {HTMLFormElement} */ (event.target);
    if (!form.contains(this.at("from"))) return;
    const kept = form.querySelector("[name=kept]");
    if (kept instanceof HTMLInputElement && kept.value) return;
    event.preventDefault();
    event.stopPropagation();
    this.judge();
  }

  /** A thumb on a chart takes the picture along; when it lifts, the part is drawn anew. */
  dragged() {
    /** @type {{x: number, id: number, moves: Element[], width: number} | undefined} */
    let held;
    const by = (/** @type {PointerEvent} */ event) => (held ? event.clientX - held.x : 0);
    this.root.addEventListener("pointerdown", (event) => {
      const chart = /** @type {Element} */ (event.target).closest(".drag");
      if (!chart || !event.isPrimary) return;
      const moves = [...this.root.querySelectorAll(".drag .moves")];
      held = { x: event.clientX, id: event.pointerId, moves, width: chart.clientWidth * FIELD };
      chart.setPointerCapture(event.pointerId);
    });
    this.root.addEventListener("pointermove", (event) => {
      const shift = held ? (by(event) / held.width) * 3020 : 0;
      held?.moves.forEach((group) => group.setAttribute("transform", `translate(${shift} 0)`));
    });
    this.root.addEventListener("pointerup", (event) => {
      const [shift, width] = [by(event), held?.width ?? 1];
      if (held && Math.abs(shift) > DRAG) session?.ask({ do: "move", how: "drag", share: -shift / width });
      else held?.moves.forEach((group) => group.removeAttribute("transform"));
      held = undefined;
    });
    this.root.addEventListener("pointercancel", () => {
      held?.moves.forEach((group) => group.removeAttribute("transform"));
      held = undefined;
    });
  }
}

customElements.define(
  "layby-recording",
  class extends HTMLElement {
    connectedCallback() {
      if (typeof Worker !== "undefined") page = new Page(this);
    }

    disconnectedCallback() {
      if (page?.root === this) page = undefined;
    }
  },
);
