// Drives the system's Firefox over WebDriver BiDi (no geckodriver is needed).
// Usage: node firefox.mjs PROFILE FIREFOX; it says {pid}, then takes {phase, url, given} a line in, and says what
// it saw a line out, or {error}.

import { readFileSync } from "node:fs";
import { createInterface } from "node:readline";

import puppeteer from "../../pwa/node_modules/puppeteer-core/lib/puppeteer/puppeteer-core.js";

const [, , userDataDir, executablePath] = process.argv;
const browser = await puppeteer.launch({ browser: "firefox", executablePath, headless: true, userDataDir });
const page = await browser.newPage();
await page.setViewport({ width: 360, height: 740 });
page.setDefaultTimeout(60_000);

const say = (what) => console.log(JSON.stringify(what));
const see = (selector) => page.waitForSelector(selector);
const press = async (selector) => (await see(selector)).click();

/** Asked again and again: the policy of the app's pages allows no function from a text. */
async function holds(expression) {
  for (let tries = 0; tries < 1000; tries += 1) {
    if (await page.evaluate(expression).catch(() => false)) return;
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error(`never true: ${expression} on the page ${page.url()}: ${await page.evaluate("document.body.innerText")}`);
}

const phases = {
  async install(url) {
    await page.goto(`${url}/`);
    await see("#open:not([hidden])");
    await press("#open");
    await see("::-p-text(Start a job)");
    return { title: await page.title() };
  },
  async work(url) {
    await page.goto(`${url}/`);
    await press("::-p-text(Start a job)");
    await see("[name=unit]");
    await page.type("[name=unit]", "Truck 9");
    await page.type("[name=complaint]", "no power");
    await press("[value=bay]");
    await press("[value=electric]");
    await press("button.go");
    await see("::-p-text(Make safe)");
    await page.goto(`${page.url()}/note`);
    await page.type("textarea", "written in Firefox with no network");
    await press("::-p-text(Save note)");
    await see("ol.timeline");
    return { timeline: await page.$eval("main", (main) => main.innerText) };
  },
  async read(url, given) {
    await page.goto(`${url}/worksheets/recording`);
    await see("[data-part=choose]:not([hidden])");
    await (await see("[data-do=file]")).uploadFile(given);
    await see("[data-part=look]:not([hidden])");
    await press("[data-do=judge]");
    await see("[data-fill=verdict] .verdict");
    return { said: await page.$eval("main", (main) => main.innerText) };
  },
  async join(url, given) {
    await page.goto(`${url}/phone`);
    await (await see("[name=name]")).type("Firefox phone");
    await page.type("[name=code]", given);
    await press("form[action='/phone/enrol'] button");
    await see("form[action='/phone/send']");
    const key = readFileSync(new URL("key.js", import.meta.url), "utf-8").replace(/^\/\/.*$/m, "");
    return { main: await page.$eval("main", (main) => main.innerText), key: await page.evaluate(`(${key.trim()})()`) };
  },
  /** Steps: open an address, run something, wait until an expression is true, and tell another. */
  async tour(url, given) {
    const told = [];
    for (const { open, run, until, tell } of given) {
      if (open) {
        await page.evaluate("void (window.left = true)");
        void page.goto(open).catch(() => {}); // after a download, or if it goes on elsewhere, no end of it is told
        await holds("!window.left");
      }
      if (run) await page.evaluate(run);
      await holds(until);
      told.push(await page.evaluate(tell));
    }
    return { told };
  },
  async look(url) {
    await page.goto(`${url}/`);
    return { jobs: await (await see("main")).evaluate((main) => main.innerText) };
  },
};

say({ pid: browser.process().pid });
for await (const line of createInterface({ input: process.stdin })) {
  const { phase, url, given } = JSON.parse(line);
  say(await phases[phase](url, given).catch((error) => ({ error: String(error.stack) })));
}
