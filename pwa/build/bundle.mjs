// Bundles the worker named by the argument into one classic script on standard output.
// Standard input: JSON, the names that the build knows and what to put in their place. Classic workers refuse a top-level await, and
// micropython.mjs has one in its command-line tail: with `process` defined away that tail is dead code.

import { readFileSync } from "node:fs";
import { build } from "esbuild";

const given = Object.entries(JSON.parse(readFileSync(0, "utf8")));
const known = Object.fromEntries(given.map(([name, value]) => [`__${name}__`, JSON.stringify(value)]));
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
  define: { process: "undefined", "import.meta.url": "self.location.href", ...known },
});
process.stdout.write(result.outputFiles[0].text);
