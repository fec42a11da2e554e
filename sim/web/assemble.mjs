// Assembles the page: style, scripts and WebAssembly in one HTML file.
//
//   node assemble.mjs CORE.wasm PAGE.html

import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { LETTERS, packed } from "./packed.mjs";
import { allWords } from "./words.mjs";

const MOST_BYTES = 400 * 1024;
const [core, page] = process.argv.slice(2);
const folder = join(dirname(fileURLToPath(import.meta.url)), "page");
const read = (name) => readFileSync(join(folder, name), "utf8");

const PARTS = ["words", "report", "sound", "canvas", "heard", "strip", "glider", "path",
  "backdrop", "sky", "player", "holding", "captions", "ears", "trace", "profile", "columns", "lessons", "keys", "drag",
  "soundcheck", "preview", "drill", "hunt", "hunt-picture", "page", "test", "hunt-test"];

/** Without comment lines and indentation, which nobody reads in the page. */
const lean = (text) => text.split("\n").map((line) => line.trim())
  .filter((line) => line && !line.startsWith("//")).join("\n")
  .replace(/^\/\*\*[^]*?\*\/$/gm, "");

// The worklet is a separate program; it shares only the names of the report.
const worklet = lean(`${read("report.js")}\n${read("worklet.js")}`);
const script = lean([
  '"use strict";',
  `const WORKLET = ${JSON.stringify(worklet)};`,
  `const WORDS = ${JSON.stringify(allWords())};`,
  ...PARTS.map((name) => read(`${name}.js`)),
].join("\n"));

// Packed, the script takes a third; this unpacks and runs it, in the same page.
const start = `const LETTERS = "${LETTERS}";
const CORE = "${packed(readFileSync(core))}";
const SCRIPT = "${packed(`(() => {\n${script}\n})();`)}";
${lean(read("unpack.js"))}`;
if (start.includes("</script")) throw new Error("a script of the page holds its own end");

const parts = { style: lean(`${read("style.css")}\n${read("hunt.css")}`), script: start,
  drill: read("drill.html").trim(),
  hunt: read("hunt.html").trim() };
const html = read("index.html").replace(/\{\{(\w+)\}\}/g, (_, name) => parts[name]);
if (html.length > MOST_BYTES)
  throw new Error(`the page has ${html.length} bytes, more than ${MOST_BYTES}`);
mkdirSync(dirname(page), { recursive: true });
writeFileSync(page, html);
console.log(`${page}: ${html.length} bytes`);
