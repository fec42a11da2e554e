// The words of every language, from page/words-*.js, for the page and its tests.

import { readdirSync, readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { runInNewContext } from "node:vm";

const folder = join(dirname(fileURLToPath(import.meta.url)), "page");

/** `{ en: { key: words, .. }, .. }`, English first. */
export function allWords() {
  const names = readdirSync(folder).filter((name) => /^words-\w+\.js$/.test(name));
  const words = Object.fromEntries(names.map((name) => [name.slice(6, -3),
    runInNewContext(`(${readFileSync(join(folder, name), "utf8").replace(/^\/\/.*$/gm, "")})`)]));
  return { en: words.en, ...words };
}
