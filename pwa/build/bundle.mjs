// Bundles the worker named by the argument into one classic script on standard output; with a second argument,
// "inputs", it prints instead which files are in it.
// Standard input: JSON, the names that the build knows and what to put in their place. Classic workers refuse a
// top-level await, and micropython.mjs has one in its command-line tail: with `process` defined away that tail
// is dead code.

import { readFileSync } from "node:fs";
import { build } from "esbuild";

const given = Object.entries(JSON.parse(readFileSync(0, "utf8")));
const known = Object.fromEntries(given.map(([name, value]) => [`__${name}__`, JSON.stringify(value)]));
const [entry, what] = process.argv.slice(2);
const result = await build({
  entryPoints: [entry],
  bundle: true,
  format: "iife",
  minify: true,
  target: "es2022",
  legalComments: "none", // the handbook's page of licences has them
  metafile: true,
  logLevel: "silent",
  external: ["module"], // imported by that tail alone
  write: false,
  define: { process: "undefined", "import.meta.url": "self.location.href", ...known },
});
process.stdout.write(what === "inputs" ? Object.keys(result.metafile.inputs).join("\n") : result.outputFiles[0].text);
