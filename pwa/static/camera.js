// <layby-camera>: the live camera in the page, seen through the photo from before. Where a browser or a person
// does not give the camera, the form below it still opens the phone's own.

import { keep } from "./photo.js";

const WISHES = { audio: false, video: { facingMode: "environment", width: { ideal: 1920 }, height: { ideal: 1440 } } };

const SETTLED = 0.1; // share of each new reading in which way is down: a hand's shaking averages out

class Camera extends HTMLElement {
  onMotion = (/** @type {DeviceMotionEvent} */ event) => this.level(event);
  /** @type {number[] | undefined} m/s² along the phone's right, top and front, as the browser gives it */
  pull = undefined;

  connectedCallback() {
    this.button.addEventListener("click", () => this.take());
    addEventListener("devicemotion", this.onMotion);
    this.offerLevel();
    void this.start();
  }

  disconnectedCallback() {
    removeEventListener("devicemotion", this.onMotion);
    this.stop();
  }

  async start() {
    try {
      const stream = await navigator.mediaDevices.getUserMedia(WISHES);
      if (!this.isConnected) return stream.getTracks().forEach((track) => track.stop());
      this.video.srcObject = stream;
      await this.video.play();
      this.classList.add("on");
      this.button.disabled = false;
      this.say("");
    } catch {
      this.say("No live camera here. Use the phone's own camera below.");
    }
  }

  /** Some browsers give no motion until a person has tapped for it. */
  offerLevel() {
    const asked = /** @type {{requestPermission?: () => Promise<string>}} */ (/** @type {unknown} */ (globalThis.DeviceMotionEvent));
    this.offer.hidden = !asked?.requestPermission;
    this.offer.addEventListener("click", async () => {
      const answer = await asked.requestPermission?.().catch(() => "denied");
      this.offer.hidden = answer === "granted";
      this.say(answer === "granted" ? "" : "The phone gives no level. Allow motion for this page in its settings.");
    });
  }

  stop() {
    if (this.video.srcObject instanceof MediaStream) for (const track of this.video.srcObject.getTracks()) track.stop();
    this.video.srcObject = null;
  }

  async take() {
    this.button.disabled = true;
    const frame = document.createElement("canvas");
    frame.width = this.video.videoWidth;
    frame.height = this.video.videoHeight;
    /** @type {CanvasRenderingContext2D} */ (frame.getContext("2d")).drawImage(this.video, 0, 0);
    this.say("Storing the photo…");
    this.set("gravity", this.pull ? JSON.stringify(this.pull.map((part) => Math.round(part * 100) / 100)) : "");
    this.set("turned", String(screen.orientation?.angle ?? 0));
    await keep(this.form, frame);
  }

  get video() {
    return /** @type {HTMLVideoElement} */ (this.querySelector("video"));
  }

  get button() {
    return /** @type {HTMLButtonElement} */ (this.querySelector("[data-do=take]"));
  }

  get offer() {
    return /** @type {HTMLButtonElement} */ (this.querySelector("[data-do=level]"));
  }

  get form() {
    return /** @type {HTMLFormElement} */ (document.querySelector("form.photo"));
  }

  /** @param {DeviceMotionEvent} event which way is down: the line lies level, and the numbers go with the photo */
  level({ accelerationIncludingGravity: pull }) {
    if (pull?.x == null || pull.y == null || pull.z == null) return;
    const now = [pull.x, pull.y, pull.z];
    const old = this.pull ?? now;
    this.pull = now.map((part, axis) => old[axis] + SETTLED * (part - old[axis]));
    this.offer.hidden = true;
    const line = /** @type {SVGElement} */ (this.querySelector(".level"));
    line.removeAttribute("hidden");
    const turn = (Math.atan2(this.pull[0], this.pull[1]) * 180) / Math.PI + (screen.orientation?.angle ?? 0);
    line.querySelector("path")?.setAttribute("transform", `rotate(${turn})`);
  }

  /**
   * @param {string} name
   * @param {string} value
   */
  set(name, value) {
    /** @type {HTMLInputElement} */ (this.form.elements.namedItem(name)).value = value;
  }

  /** @param {string} text */
  say(text) {
    /** @type {HTMLElement} */ (this.querySelector("[role=status]")).textContent = text;
  }
}

customElements.define("layby-camera", Camera);

// How much of one picture is seen through the other.
document.addEventListener("input", ({ target }) => {
  if (!(target instanceof HTMLInputElement) || !target.dataset.through) return;
  for (const seen of document.querySelectorAll(target.dataset.through)) /** @type {SVGElement} */ (seen).style.opacity = target.value;
});
