// Assembles the page: style, scripts and WebAssembly in one HTML file.
//
//   node assemble.mjs CORE.wasm PAGE.html

import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { gzipSync } from "node:zlib";

const MOST_BYTES = 400 * 1024;
const [core, page] = process.argv.slice(2);
const folder = join(import.meta.dirname, "page");
const read = (name) => readFileSync(join(folder, name), "utf8");

/** Without comment lines and indentation, which nobody reads in the page. */
const lean = (text) => text.split("\n").map((line) => line.trim())
  .filter((line) => line && !line.startsWith("//")).join("\n")
  .replace(/^\/\*\*[^]*?\*\/$/gm, "");

// The worklet is a separate program; it shares only the names of the report.
const worklet = lean(`${read("report.js")}\n${read("worklet.js")}`);
const packed = gzipSync(readFileSync(core), { level: 9 }).toString("base64");
const script = lean([
  '"use strict";',
  `const CORE = "${packed}";`,
  `const WORKLET = ${JSON.stringify(worklet)};`,
  ...["report.js", "sound.js", "picture.js", "drill.js", "hunt.js", "hunt-picture.js",
    "page.js", "test.js", "hunt-test.js"].map(read),
].join("\n"));
if (script.includes("</script")) throw new Error("a script of the page holds its own end");

const parts = { style: lean(`${read("style.css")}\n${read("hunt.css")}`),
  script: `(() => {\n${script}\n})();`,
  drill: read("drill.html").trim(), hunt: read("hunt.html").trim() };
const html = read("index.html").replace(/\{\{(\w+)\}\}/g, (_, name) => parts[name]);
if (html.length > MOST_BYTES)
  throw new Error(`the page has ${html.length} bytes, more than ${MOST_BYTES}`);
mkdirSync(dirname(page), { recursive: true });
writeFileSync(page, html);
console.log(`${page}: ${html.length} bytes`);
