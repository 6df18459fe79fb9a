// The phone's interpreter for tests: one JSON request a line in, one JSON answer a line out.
// Usage: node micropython.mjs ROOT, where ROOT holds pwa/engine, pwa/app and pwa/phone/lib.
import { readdirSync, readFileSync } from "node:fs";
import { createInterface } from "node:readline";
import { loadMicroPython } from "../pwa/node_modules/@micropython/micropython-webassembly-pyscript/micropython.mjs";

const root = process.argv[2];
const python = await loadMicroPython({ heapsize: 16 * 1024 * 1024 });

/** Copy the .py files of one folder of the project into the interpreter's file system. */
function mount(folder, target) {
  python.FS.mkdirTree(target);
  for (const name of readdirSync(`${root}/${folder}`)) {
    if (name.endsWith(".py")) python.FS.writeFile(`${target}/${name}`, readFileSync(`${root}/${folder}/${name}`));
  }
}

mount("pwa/phone/lib", "/lib");
for (const folder of ["pwa", "pwa/engine", "pwa/app", "pwa/app/screens", "pwa/phone/jinja"]) {
  try {
    mount(folder, `/lib/${folder}`);
  } catch (error) {
    if (error.code !== "ENOENT") throw error;
  }
}

python.FS.writeFile(
  "/lib/twin.py",
  `
import json
def call(text):
    request = json.loads(text)
    try:
        module = __import__(request["module"], None, None, ["*"])
        value = module
        for name in request["name"].split("."):
            value = getattr(value, name)
        if request["call"]:
            value = value(*request["args"], **request["kwargs"])
        return json.dumps({"value": value})
    except Exception as error:
        return json.dumps({"error": type(error).__name__, "message": str(error)})
`,
);
const twin = python.pyimport("twin");
for await (const line of createInterface({ input: process.stdin })) {
  process.stdout.write(`${twin.call(line)}\n`);
}
