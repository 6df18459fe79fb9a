// <layby-marks>: turns taps and drags on a photo into points in image pixels. What they mean is Python's business.

/** @typedef {[number, number]} Point */

const SINGLE = ["fixed", "moving", "centre"];
const GRAB = 28; // CSS px around a point within which a touch moves it instead of adding one
const ZOOMS = [1, 2, 4];
const LOUPE_ZOOM = 4;
const STEADY = 250; // ms without a change until Python is asked for the drawing

class Marking {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.form = /** @type {HTMLFormElement} */ (root.closest("form"));
    this.stage = /** @type {HTMLElement} */ (root.querySelector(".stage"));
    this.loupe = /** @type {HTMLElement} */ (root.querySelector(".loupe"));
    this.width = Number(root.dataset.width);
    /** @type {any} */
    this.held = undefined;
    this.timer = 0;
    /** @type {{[name: string]: any}} */
    this.points = { rim: this.read("rim") ?? [], fixed: this.read("fixed"), moving: this.read("moving"), centre: this.read("centre") };
    /** @type {string[]} */
    this.past = [];
    this.zoom = 0;
    const photo = /** @type {HTMLImageElement} */ (root.querySelector("img"));
    this.loupe.style.backgroundImage = `url("${photo.src}")`;
    this.stage.addEventListener("pointerdown", (event) => this.press(event));
    this.stage.addEventListener("pointermove", (event) => this.move(event));
    this.stage.addEventListener("pointerup", (event) => this.lift(event));
    this.stage.addEventListener("pointercancel", () => this.drop());
    root.querySelector("[data-do=undo]")?.addEventListener("click", () => this.undo());
    root.querySelector("[data-do=zoom]")?.addEventListener("click", () => this.nextZoom());
  }

  /** @param {string} name */
  field(name) {
    return /** @type {HTMLInputElement} */ (this.form.elements.namedItem(name));
  }

  /** @param {string} name */
  read(name) {
    const text = this.field(name).value;
    return text ? JSON.parse(text) : null;
  }

  get tool() {
    return /** @type {HTMLInputElement} */ (this.root.querySelector("[name=tool]:checked")).value;
  }

  /** CSS px for one image px at the present zoom. */
  get scale() {
    return this.stage.getBoundingClientRect().width / this.width;
  }

  /**
   * @param {PointerEvent} event
   * @returns {Point} where the finger is, in image px
   */
  at(event) {
    const box = this.stage.getBoundingClientRect();
    return [(event.clientX - box.left) / this.scale, (event.clientY - box.top) / this.scale];
  }

  /** @param {PointerEvent} event */
  press(event) {
    if (!event.isPrimary) return this.drop(); // a second finger pinches or scrolls
    this.held = { ...this.near(this.at(event)), start: [event.clientX, event.clientY] };
    if (this.held.name) this.stage.setPointerCapture(event.pointerId);
    this.look(event);
  }

  /** @param {PointerEvent} event */
  move(event) {
    if (!this.held) return;
    this.look(event);
    if (this.held.name) this.put(this.held, this.at(event));
  }

  /** @param {PointerEvent} event */
  lift(event) {
    const held = this.held;
    this.drop();
    if (!held) return;
    const [x, y] = held.start;
    const moved = Math.hypot(event.clientX - x, event.clientY - y) > GRAB / 2;
    if (!held.name && moved) return; // that was a scroll
    this.past.push(held.before ?? JSON.stringify(this.points));
    if (!held.name) this.add(this.at(event));
    this.changed();
  }

  drop() {
    this.held = undefined;
    this.loupe.hidden = true;
  }

  /** @param {Point} point */
  add(point) {
    if (SINGLE.includes(this.tool)) this.points[this.tool] = point;
    else this.points.rim.push(point);
  }

  /**
   * The point of the present tool under the finger, if there is one.
   * @param {Point} point
   */
  near([x, y]) {
    const reach = GRAB / this.scale;
    const close = (/** @type {Point | null} */ other) => other && Math.hypot(other[0] - x, other[1] - y) < reach;
    const before = JSON.stringify(this.points);
    if (this.tool === "rim") {
      const index = this.points.rim.findIndex(close);
      return index < 0 ? {} : { name: "rim", index, before };
    }
    return close(this.points[this.tool]) ? { name: this.tool, index: -1, before } : {};
  }

  /**
   * @param {any} held
   * @param {Point} point
   */
  put({ name, index }, point) {
    if (name === "rim") this.points.rim[index] = point;
    else this.points[name] = point;
  }

  undo() {
    const last = this.past.pop();
    if (last) this.points = JSON.parse(last);
    this.changed();
  }

  nextZoom() {
    this.zoom = (this.zoom + 1) % ZOOMS.length;
    this.stage.style.width = `${100 * ZOOMS[this.zoom]}%`;
  }

  /** Write the points into the form and ask Python, once the finger rests, to draw what they mean. */
  changed() {
    const rounded = (/** @type {any} */ value) => JSON.stringify(value, (_, part) => (typeof part === "number" ? Math.round(part * 10) / 10 : part));
    for (const [name, value] of Object.entries(this.points)) this.field(name).value = value?.length ? rounded(value) : "";
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.form.dispatchEvent(new Event("layby:tapped")), STEADY);
  }

  /**
   * Show what is under the finger, beside the finger.
   * @param {PointerEvent} event
   */
  look(event) {
    const [x, y] = this.at(event);
    const size = this.width * this.scale * LOUPE_ZOOM;
    const box = this.root.getBoundingClientRect();
    this.loupe.hidden = false;
    this.loupe.classList.toggle("left", event.clientX - box.left > box.width / 2);
    this.loupe.style.backgroundSize = `${size}px auto`;
    this.loupe.style.backgroundPosition = `${this.loupe.clientWidth / 2 - x * this.scale * LOUPE_ZOOM}px ${this.loupe.clientHeight / 2 - y * this.scale * LOUPE_ZOOM}px`;
  }
}

customElements.define(
  "layby-marks",
  class extends HTMLElement {
    connectedCallback() {
      new Marking(this);
    }
  },
);
