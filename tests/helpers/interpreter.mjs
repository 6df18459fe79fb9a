// The phone's interpreter for tests: one JSON request a line in, one JSON answer a line out.
// Usage: node interpreter.mjs SOURCES.json, where the file maps module paths to Python source.
import { readFileSync } from "node:fs";
import { createInterface } from "node:readline";
import { loadMicroPython } from "../../pwa/node_modules/@micropython/micropython-webassembly-pyscript/micropython.mjs";

const python = await loadMicroPython({ heapsize: 16 * 1024 * 1024 });
for (const [path, source] of Object.entries(JSON.parse(readFileSync(process.argv[2], "utf8")))) {
  const file = `/lib/${path}`;
  python.FS.mkdirTree(file.slice(0, file.lastIndexOf("/")));
  python.FS.writeFile(file, source);
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
