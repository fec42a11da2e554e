// The pages of an unpacked release, opened from their files as a user does, without a network:
//
//   CHIRRUP_RELEASE=FOLDER node --test sim/xtask/trial/pages.test.mjs
//
// Needs the packages of sim/web (`npm ci` there) and Chromium.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { after, before, test } from "node:test";
import { launch, openFile } from "../../web/test/browser.mjs";

const release = process.env.CHIRRUP_RELEASE;
const needed = createRequire(new URL("../../web/package.json", import.meta.url));
const axe = readFileSync(needed.resolve("axe-core"), "utf8");
let browser;

before(async () => {
  assert.ok(release, "CHIRRUP_RELEASE is the folder of an unpacked release");
  browser = await launch();
});
after(() => browser?.close());

/** Runs `act` on a page of the release, which must not complain. */
async function on(file, options, act) {
  const { tab, complaints, close } = await openFile(browser, `${release}/${file}`, options);
  await act(tab);
  assert.deepEqual(complaints, []);
  await close();
}

test("the instructor's page starts and has a good reading", () =>
  on("page/chirrup.html", {}, async (tab) => {
    await tab.evaluate(() => window.chirrupTest.runOn(5));
    await tab.waitForFunction(() => window.chirrupTest.latest()?.left.good);
  }));

for (const colorScheme of ["light", "dark"]) {
  for (const [width, height] of [[1280, 800], [360, 740]]) {
    test(`the listening page is accessible: ${colorScheme}, ${width} wide`, () =>
      on("listening/index.html", { colorScheme, width, height }, async (tab) => {
        await tab.evaluate(axe);
        const { violations } = await tab.evaluate(() => window.axe.run());
        assert.deepEqual(violations.map(({ id, nodes }) => `${id}: ${nodes[0].html}`), []);
        const wide = await tab.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        assert.ok(wide <= 0, `${wide} pixels too wide`);
      }));
  }
}

test("each of the six clips lasts 15 s, and they play in turn", () =>
  on("listening/index.html", {}, async (tab) => {
    await tab.waitForFunction(() =>
      [...document.querySelectorAll("audio")].every((clip) => clip.readyState > 0));
    const lengths = await tab.evaluate(() =>
      [...document.querySelectorAll("audio")].map((clip) => clip.duration));
    assert.equal(lengths.length, 6);
    for (const length of lengths) assert.ok(Math.abs(length - 15) < 0.001, `${length} s`);
    await tab.click("button");
    // To the end of the first, so that the second begins.
    await tab.waitForFunction(() => !document.querySelector("audio").paused);
    await tab.evaluate(() => { document.querySelector("audio").currentTime = 14.9; });
    await tab.waitForFunction(() => !document.querySelectorAll("audio")[1].paused);
    // The browser says later that the first has paused, so the marks are waited for.
    const marked = (expected) => tab.waitForFunction((titles) =>
      [...document.querySelectorAll("section[data-plays] h2")].map((title) => title.textContent)
        .join() === titles, expected);
    await marked("A good climb");
    await tab.click("button");
    await marked("");
  }));
