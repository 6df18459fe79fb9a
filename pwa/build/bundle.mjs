// Bundles the worker named by the argument into one classic script on standard output.
// Standard input: JSON that replaces __PRECACHE__. Classic workers refuse a top-level await, and
// micropython.mjs has one in its command-line tail: with `process` defined away that tail is dead code.

import { readFileSync } from "node:fs";
import { build } from "esbuild";

const result = await build({
  entryPoints: [process.argv[2]],
  bundle: true,
  format: "iife",
  minify: true,
  target: "es2022",
  legalComments: "none",
  logLevel: "silent",
  external: ["module"], // imported by that tail alone
  write: false,
  define: { process: "undefined", "import.meta.url": "self.location.href", __PRECACHE__: readFileSync(0, "utf8") || "{}" },
});
process.stdout.write(result.outputFiles[0].text);
