// <layby-marks>: turns fingers on a photo into points in image pixels. What they mean is Python's business.
// One finger sets a point or takes one, at any distance a thumb needs; two fingers zoom and move the photo.

import { forget, keep, recall } from "./kept.js";

/** @typedef {[number, number]} Point */
/** @typedef {{name: string, index: number}} Which the index is -1 where there is only one such point */

const LISTS = ["rim", "holes"];
const SINGLE = ["fixed", "moving", "centre"];
const SENT = "layby taps"; // whose taps were sent last
const GRAB = 28; // CSS px around a point within which a touch takes it instead of setting another
const NEAREST = 8; // times the width of the view
const CLOSER = 1.6; // a press of + or -
const GLASS = 2; // CSS px for one image px in the magnifier, at least
const PAUSE = 120; // ms between questions to Python while a finger moves

class Marking {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.form = /** @type {HTMLFormElement} */ (root.closest("form"));
    this.viewport = /** @type {HTMLElement} */ (root.querySelector(".viewport"));
    this.stage = /** @type {HTMLElement} */ (root.querySelector(".stage"));
    this.loupe = /** @type {HTMLElement} */ (root.querySelector(".loupe"));
    this.width = Number(root.dataset.width);
    this.height = Number(root.dataset.height);
    this.draft = `taps ${location.pathname}`;
    this.zoom = 1;
    /** @type {Map<number, Point>} fingers on the photo, in CSS px */
    this.fingers = new Map();
    /** @type {(Which & {off: Point, before: string}) | undefined} */
    this.held = undefined;
    /** @type {Which | undefined} the point that was set or moved last */
    this.last = undefined;
    this.asking = false;
    this.changedSince = false;
    /** @type {string[]} */
    this.past = [];
    /** @type {{[name: string]: any}} */
    this.points = {};
    for (const name of [...LISTS, ...SINGLE]) this.points[name] = this.read(name);
    this.loupe.style.backgroundImage = `url("${/** @type {HTMLImageElement} */ (root.querySelector("img")).src}")`;
    this.listen();
    this.choose();
    void this.resume();
  }

  listen() {
    this.viewport.addEventListener("pointerdown", (event) => this.press(event));
    this.viewport.addEventListener("pointermove", (event) => this.move(event));
    this.viewport.addEventListener("pointerup", (event) => this.lift(event));
    this.viewport.addEventListener("pointercancel", (event) => this.cancel(event));
    this.viewport.addEventListener("keydown", (event) => this.nudge(event));
    this.root.addEventListener("change", () => {
      this.choose();
      this.changed();
    });
    this.form.addEventListener("submit", () => sessionStorage.setItem(SENT, this.draft));
    this.form.addEventListener("htmx:finally:request", () => this.answered());
    const press = (/** @type {string} */ name, /** @type {() => void} */ act) => this.root.querySelector(`[data-do=${name}]`)?.addEventListener("click", act);
    press("undo", () => this.undo());
    press("in", () => this.zoomTo(this.zoom * CLOSER, this.middle()));
    press("out", () => this.zoomTo(this.zoom / CLOSER, this.middle()));
  }

  /** The system may end this page at any moment: what was tapped and never saved is where it was. */
  async resume() {
    const kept = await recall(this.draft);
    if (!kept || this.past.length || this.held) return;
    this.points = { ...this.points, ...JSON.parse(kept) };
    this.changed();
  }

  /** @param {string} name */
  field(name) {
    return /** @type {HTMLInputElement} */ (this.form.elements.namedItem(name));
  }

  /** @param {string} name */
  read(name) {
    const text = this.field(name).value;
    return text ? JSON.parse(text) : LISTS.includes(name) ? [] : null;
  }

  get tool() {
    return /** @type {HTMLInputElement} */ (this.root.querySelector("[name=tool]:checked")).value;
  }

  choose() {
    this.stage.dataset.tool = this.tool;
    this.last = undefined;
    this.drawFinger();
  }

  /** CSS px for one image px at the present zoom. */
  get scale() {
    return this.stage.getBoundingClientRect().width / this.width;
  }

  /**
   * @param {Point} finger
   * @returns {Point} where it is, in image px
   */
  at([x, y]) {
    const box = this.stage.getBoundingClientRect();
    return [(x - box.left) / this.scale, (y - box.top) / this.scale];
  }

  /** @param {PointerEvent} event */
  press(event) {
    if (event.button > 0) return;
    event.preventDefault();
    this.viewport.focus({ preventScroll: true });
    this.viewport.setPointerCapture(event.pointerId);
    this.fingers.set(event.pointerId, [event.clientX, event.clientY]);
    if (this.fingers.size > 1) this.letGo(); // two fingers zoom; what the first one began was not meant
    else this.take([event.clientX, event.clientY]);
  }

  /**
   * Take the point under the finger, or set one. A taken point keeps its distance, so that the finger can stay
   * beside what it points at.
   * @param {Point} finger
   */
  take(finger) {
    const [x, y] = this.at(finger);
    const before = JSON.stringify(this.points);
    const near = this.near([x, y]);
    const which = near ?? this.add([x, y]);
    const point = this.pointOf(which);
    this.held = { ...which, off: [point[0] - x, point[1] - y], before };
    this.last = which;
    this.show(finger);
  }

  /** @param {PointerEvent} event */
  move(event) {
    const old = this.fingers.get(event.pointerId);
    if (!old) return;
    const others = [...this.fingers].filter(([id]) => id !== event.pointerId);
    this.fingers.set(event.pointerId, [event.clientX, event.clientY]);
    if (others.length === 1) this.pinch(old, [event.clientX, event.clientY], others[0][1]);
    if (!this.held) return;
    const [x, y] = this.at([event.clientX, event.clientY]);
    const [dx, dy] = this.held.off;
    this.put(this.held, [x + dx, y + dy]);
    this.show([event.clientX, event.clientY]);
    this.changed();
  }

  /** @param {PointerEvent} event */
  lift(event) {
    this.fingers.delete(event.pointerId);
    if (!this.held) return;
    this.past.push(this.held.before);
    this.held = undefined;
    this.loupe.hidden = true;
    this.changed();
  }

  /** @param {PointerEvent} event */
  cancel(event) {
    this.fingers.delete(event.pointerId);
    this.letGo();
  }

  /** Put back what an unfinished touch has moved. */
  letGo() {
    if (!this.held) return;
    this.points = JSON.parse(this.held.before);
    this.held = undefined;
    this.last = undefined;
    this.loupe.hidden = true;
    this.drawFinger();
    this.changed();
  }

  /**
   * @param {Point} old
   * @param {Point} now
   * @param {Point} other where the second finger rests
   */
  pinch(old, now, other) {
    const apart = (/** @type {Point} */ finger) => Math.max(1, Math.hypot(finger[0] - other[0], finger[1] - other[1]));
    this.zoomTo((this.zoom * apart(now)) / apart(old), [(old[0] + other[0]) / 2, (old[1] + other[1]) / 2]);
    this.viewport.scrollLeft -= (now[0] - old[0]) / 2;
    this.viewport.scrollTop -= (now[1] - old[1]) / 2;
  }

  /**
   * @param {number} zoom
   * @param {Point} around stays where it is on the screen, in CSS px
   */
  zoomTo(zoom, around) {
    const [x, y] = this.at(around);
    this.zoom = Math.min(NEAREST, Math.max(1, zoom));
    this.stage.style.width = `${100 * this.zoom}%`;
    const box = this.stage.getBoundingClientRect();
    this.viewport.scrollLeft += box.left + x * this.scale - around[0];
    this.viewport.scrollTop += box.top + y * this.scale - around[1];
  }

  /** @returns {Point} of the view, or the last point if it is in view */
  middle() {
    const box = this.viewport.getBoundingClientRect();
    if (this.last) {
      const point = this.pointOf(this.last);
      const stage = this.stage.getBoundingClientRect();
      const [x, y] = [stage.left + point[0] * this.scale, stage.top + point[1] * this.scale];
      if (x > box.left && x < box.right && y > box.top && y < box.bottom) return [x, y];
    }
    return [box.left + box.width / 2, box.top + box.height / 2];
  }

  /**
   * @param {Point} point
   * @returns {Which}
   */
  add(point) {
    const name = this.tool;
    if (!LISTS.includes(name)) {
      this.points[name] = point;
      return { name, index: -1 };
    }
    this.points[name].push(point);
    return { name, index: this.points[name].length - 1 };
  }

  /**
   * The nearest point of the present tool within reach of the finger, if there is one.
   * @param {Point} point
   * @returns {Which | undefined}
   */
  near([x, y]) {
    const name = this.tool;
    const all = LISTS.includes(name) ? this.points[name] : this.points[name] ? [this.points[name]] : [];
    const distances = all.map((/** @type {Point} */ other) => Math.hypot(other[0] - x, other[1] - y));
    const least = Math.min(...distances);
    if (!(least * this.scale < GRAB)) return undefined;
    return { name, index: LISTS.includes(name) ? distances.indexOf(least) : -1 };
  }

  /**
   * @param {Which} which
   * @returns {Point}
   */
  pointOf({ name, index }) {
    return index < 0 ? this.points[name] : this.points[name][index];
  }

  /**
   * @param {Which} which
   * @param {Point} point
   */
  put({ name, index }, [x, y]) {
    /** @type {Point} */
    const inside = [Math.min(this.width, Math.max(0, x)), Math.min(this.height, Math.max(0, y))];
    if (index < 0) this.points[name] = inside;
    else this.points[name][index] = inside;
  }

  /** @param {KeyboardEvent} event */
  nudge(event) {
    const ways = /** @type {{[key: string]: Point}} */ ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] });
    const way = ways[event.key];
    if (!way || !this.last) return;
    event.preventDefault();
    this.past.push(JSON.stringify(this.points));
    const [x, y] = this.pointOf(this.last);
    this.put(this.last, [x + way[0], y + way[1]]);
    this.drawFinger();
    this.changed();
  }

  undo() {
    const before = this.past.pop();
    if (!before) return;
    this.points = JSON.parse(before);
    this.last = undefined;
    this.drawFinger();
    this.changed();
  }

  /** Write the points into the form and keep them; ask Python, not too often, to draw what they mean. */
  changed() {
    const rounded = JSON.stringify(this.points, (_, part) => (typeof part === "number" ? Math.round(part * 10) / 10 : part));
    for (const [name, value] of Object.entries(JSON.parse(rounded))) this.field(name).value = value?.length ? JSON.stringify(value) : "";
    void keep(this.draft, rounded);
    this.changedSince = true;
    if (!this.asking) this.ask();
  }

  ask() {
    this.asking = true;
    this.changedSince = false;
    setTimeout(() => this.form.dispatchEvent(new Event("layby:tapped")), PAUSE);
  }

  answered() {
    this.asking = false;
    if (this.changedSince) this.ask();
  }

  /** The point that is held or was set last, drawn at once; Python draws the rest. */
  drawFinger() {
    const group = /** @type {SVGElement} */ (this.stage.querySelector(".finger"));
    const point = this.last && this.pointOf(this.last);
    group.setAttribute("class", `finger ${this.last?.name ?? ""}`);
    for (const path of group.children) path.setAttribute("d", point ? `M${point[0]} ${point[1]}h.01` : "");
  }

  /**
   * Draw the held point, and what is under it in the magnifier, on the side where the finger is not.
   * @param {Point} finger
   */
  show(finger) {
    this.drawFinger();
    if (!this.last) return;
    const [x, y] = this.pointOf(this.last);
    const large = Math.max(GLASS, this.scale * GLASS);
    this.loupe.hidden = false;
    this.loupe.classList.toggle("left", finger[0] > document.documentElement.clientWidth / 2);
    this.loupe.style.backgroundSize = `${this.width * large}px auto`;
    this.loupe.style.backgroundPosition = `${this.loupe.clientWidth / 2 - x * large}px ${this.loupe.clientHeight / 2 - y * large}px`;
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

/** Once the form is accepted another page follows, and its taps are a record; a refused one stays with its taps. */
function settle() {
  const sent = sessionStorage.getItem(SENT);
  const here = document.querySelector("layby-marks");
  if (!sent || (here && !document.querySelector("[role=alert]"))) return; // no answer yet
  if (!here) void forget(sent);
  sessionStorage.removeItem(SENT);
}

document.addEventListener("htmx:after:swap", settle);
settle();
