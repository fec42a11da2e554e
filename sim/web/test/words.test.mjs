// The words: every language has every key, English is the core's own, and no text of the page is
// outside of them.

import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { after, before, test } from "node:test";
import { allWords } from "../words.mjs";
import { folder, launch, open } from "./browser.mjs";

const words = allWords();
const LANGUAGES = Object.keys(words);
const read = (name) => readFileSync(`${folder}/page/${name}`, "utf8");
let browser;

before(async () => {
  browser = await launch();
});
after(() => browser.close());

const placesIn = (text) => (text.match(/\{\w+\}/g) ?? []).sort().join();

test("English, German and French have the same keys and the same values in them", () => {
  assert.deepEqual(LANGUAGES, ["en", "de", "fr"]);
  for (const tag of LANGUAGES) {
    assert.deepEqual(Object.keys(words[tag]).sort(), Object.keys(words.en).sort(), tag);
    for (const [key, text] of Object.entries(words[tag])) {
      assert.equal(placesIn(text), placesIn(words.en[key]), `${tag} ${key}`);
      assert.ok(text.trim().length > 0, `${tag} ${key}`);
    }
  }
});

test("hardly any sentence of German or French is the English one", () => {
  for (const tag of ["de", "fr"]) {
    const same = Object.entries(words[tag]).filter(([key, text]) => /\p{L} \p{L}/u.test(text
      .replace(/\{\w+\}/g, "")) && text === words.en[key]);
    assert.deepEqual(same, [], tag);
  }
});

test("the English of lessons and drills is the core's", async () => {
  const { tab, close } = await open(browser);
  const { lessons, kinds } = await tab.evaluate(() => window.chirrupTest.choices());
  await close();
  const { en } = words;
  const used = [];
  const same = (key, text) => {
    assert.equal(en[key], text, key);
    used.push(key);
  };
  for (const { key, title, question, cues } of lessons) {
    same(`lesson.${key}.title`, title);
    same(`lesson.${key}.question`, question);
    cues.forEach(({ caption }, place) => same(`lesson.${key}.${place}`, caption));
  }
  for (const { key, question, answers } of kinds) {
    same(`kind.${key}.question`, question);
    answers.forEach((answer, place) => same(`kind.${key}.${place}`, answer));
  }
  const ofCore = Object.keys(en).filter((key) => /^(lesson\.\w+\.|kind\.)/.test(key));
  assert.deepEqual(ofCore.sort(), used.sort());
});

test("no text is outside of the words: not in the HTML, not in the scripts", () => {
  const pages = readdirSync(`${folder}/page`);
  for (const name of pages.filter((name) => name.endsWith(".html"))) {
    const text = read(name).replace(/<noscript>[^]*?<\/noscript>/, "")
      .replace(/<(style|script|title)>[^]*?<\/\1>/g, "").replace(/<!--[^]*?-->/g, "")
      .replace(/\{\{\w+\}\}/g, "");
    const told = [...text.replace(/<[^>]*>/g, "\n").matchAll(/\p{L}{2,}/gu)].map(([word]) => word);
    // Names are not translated.
    assert.deepEqual(told.filter((word) => word !== "Chirrup"), [], name);
    const attributes = [...text.matchAll(/(?:aria-label|title|placeholder|alt)="([^"]*)"/g)];
    assert.deepEqual(attributes.map(([whole]) => whole), [], name);
  }
  // A text with two words in a row that is shown would be one.
  for (const name of pages.filter((name) => name.endsWith(".js") && !/^(words-|test|worklet)/
    .test(name))) {
    const code = read(name).replace(/^\s*(\/\/|\/\*\*| \*).*$/gm, "")
      .replace(/throw new Error\([^)]*\)/g, "");
    const strings = [...code.matchAll(/"((?:[^"\\\n]|\\.)*)"|`((?:[^`\\]|\\.)*)`/g)]
      .map(([, one, two]) => (one ?? two).replace(/\$\{[^}]*\}/g, ""));
    const shown = strings.filter((text) => /\p{Lu}?\p{Ll}{2,} \p{Ll}{2,}/u.test(text) &&
      !/^(color-mix|\d|use strict|data:|#|px )/.test(text));
    assert.deepEqual(shown, [], name);
  }
});

test("every key is used", () => {
  const all = readdirSync(`${folder}/page`).filter((name) => !name.startsWith("words-")).map(read)
    .join("\n");
  const made = /^(lesson\.\w+\.|kind\.|caption\.|name\.|check\.|stave\.|language\.|hunt\.(wind|did|next|round)\.)/;
  const unused = Object.keys(words.en).filter((key) => !made.test(key) &&
    !all.includes(`"${key}"`));
  assert.deepEqual(unused, []);
});

for (const [locale, tag, start] of [["de-AT", "de", "Start"], ["fr-CA", "fr", "Démarrer"],
  ["en-US", "en", "Start"], ["pt-BR", "en", "Start"]]) {
  test(`a browser in ${locale} opens the page in ${tag}, and the switch changes all of it`,
    async () => {
      const { tab, complaints, close } = await open(browser, { locale });
      assert.equal(await tab.getAttribute("html", "lang"), tag);
      assert.equal(await tab.textContent("#start"), start);
      await tab.click("#lessons li:nth-child(3) button");
      await tab.waitForFunction(() => window.chirrupTest.latest()?.lesson === 2);
      for (const other of [...LANGUAGES, tag]) {
        await tab.selectOption("#language", other);
        const shown = await tab.evaluate(() => document.body.innerText);
        await tab.waitForFunction((text) => document.getElementById("caption").textContent === text,
          words[other]["lesson.sink.0"]);
        for (const key of ["cautions", "trace.how", "pad.up", "lesson.winch.title", "drill.what"])
          assert.ok(shown.includes(words[other][key]), `${other}: ${key}`);
      }
      assert.deepEqual(complaints, []);
      await close();
    });
}

test("from right to left nothing breaks: keys, picture and strip stay in the window", async () => {
  for (const [width, height] of [[1280, 720], [390, 844]]) {
    const { tab, complaints, close } = await open(browser, { width, height });
    await tab.evaluate(() => {
      window.chirrupTest.words().en.direction = "rtl";
      document.getElementById("language").dispatchEvent(new Event("change"));
    });
    assert.equal(await tab.getAttribute("html", "dir"), "rtl");
    const found = await tab.evaluate(() => ({
      wide: document.documentElement.scrollWidth - document.documentElement.clientWidth,
      title: document.getElementById("title").getBoundingClientRect().right,
      out: ["#fly", "#score", "#pads", "#caption", "#begin"].filter((id) => {
        const { left, right } = document.querySelector(id).getBoundingClientRect();
        return left < -0.5 || right > innerWidth + 0.5;
      }) }));
    assert.deepEqual(found.out, []);
    assert.equal(found.wide, 0);
    assert.ok(found.title > width * 0.8, "the title is at the right");
    assert.deepEqual(complaints, []);
    await close();
  }
});
