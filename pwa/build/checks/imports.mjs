// Imports every module of a pack once on MicroPython, as the phone has it.
// Usage: node imports.mjs PACK; prints JSON, the traceback of each module that fails.
import { readFileSync } from "node:fs";
import { loadMicroPython } from "@micropython/micropython-webassembly-pyscript/micropython.mjs";

const pack = readFileSync(process.argv[2]);
const end = pack.indexOf("\n");
const index = JSON.parse(pack.subarray(0, end).toString("utf8"));
const python = await loadMicroPython({ heapsize: 16 * 1024 * 1024 });
let from = end + 1;
for (const [file, size] of index) {
  python.FS.mkdirTree(file.slice(0, file.lastIndexOf("/")));
  python.FS.writeFile(file, pack.subarray(from, from + size));
  from += size;
}
python.FS.writeFile(
  "/lib/import_all.py",
  `
import io, json, sys
def tried(names):
    failed = []
    for name in json.loads(names):
        try:
            __import__(name)
        except Exception as error:
            out = io.StringIO()
            sys.print_exception(error, out)
            failed.append(out.getvalue())
    return json.dumps(failed)
`,
);
const names = index.map(([file]) =>
  file.replace("/lib/", "").replace(/(\/__init__)?\.mpy$/, "").replaceAll("/", "."),
);
process.stdout.write(python.pyimport("import_all").tried(JSON.stringify(names)));
