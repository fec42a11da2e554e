// A class in front of the page: keys of a drill from anywhere, a pause, another language; the steps
// of the ten-minute briefing.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { launch, open } from "./browser.mjs";

let browser;

before(async () => {
  browser = await launch();
});
after(() => browser.close());

async function within(act) {
  const { tab, complaints, close } = await open(browser);
  await act(tab);
  assert.deepEqual(complaints, []);
  await close();
}

const says = (tab) => tab.textContent("#drill-says");
const isAsked = (tab, number) => tab.waitForFunction((wanted) =>
  document.getElementById("drill-number").textContent.includes(` ${wanted} `) &&
  document.getElementById("drill-says").textContent === "Listen.", number);
const isAnswered = (tab) => tab.waitForFunction(() =>
  /of \d+ right/.test(document.getElementById("drill-says").textContent));

/** A drill of some questions, and the sound of the first has ended. */
async function begun(tab) {
  await tab.check('input[name=kind][value="0"]');
  await tab.fill("#wanted", "5");
  await tab.click("#drill-begin");
  await isAsked(tab, 1);
  await tab.evaluate(() => window.chirrupTest.runOn(7.5));
}

test("the keys of a drill answer from anywhere, Space does not, and no digit is a lesson", () =>
  within(async (tab) => {
    await begun(tab);
    await tab.keyboard.press(" ");
    await tab.waitForFunction(() => document.getElementById("start").dataset.word === "go.on");
    assert.equal(await says(tab), "Listen.");
    await tab.keyboard.press("2");
    assert.ok(await tab.isDisabled("#answers button >> nth=1"), "paused");
    assert.equal(await says(tab), "Listen.", "no answer to a sound that is paused");
    await tab.keyboard.press(" ");
    await tab.waitForFunction(() => document.getElementById("start").dataset.word === "pause");
    await tab.focus("#mute");
    for (const key of ["6", "9"]) await tab.keyboard.press(key);
    assert.equal(await says(tab), "Listen.");
    await tab.keyboard.press("2");
    await isAnswered(tab);
    await tab.focus("#fly");
    await tab.keyboard.press("n");
    await isAsked(tab, 2);
    assert.equal(await tab.evaluate(() => window.chirrupTest.latest().lesson), -1);
    await tab.focus("#volume");
    await tab.keyboard.press("ArrowUp");
    assert.equal(await tab.inputValue("#volume"), "9", "a slider keeps its arrows");
    await tab.click("#drill-end");
    await tab.waitForSelector("#drill-choose:not([hidden])");
    await tab.focus("#fly");
    await tab.keyboard.press("3");
    await tab.waitForFunction(() => window.chirrupTest.latest().lesson === 2);
  }));

test("another language in a drill changes number, verdict and table", () =>
  within(async (tab) => {
    await begun(tab);
    await tab.keyboard.press("1");
    await isAnswered(tab);
    await tab.selectOption("#language", "de");
    const words = (await tab.evaluate(() => window.chirrupTest.words())).de;
    const number = words["drill.number"].replace("{number}", "1").replace("{wanted}", "5");
    assert.equal(await tab.textContent("#drill-number"), number);
    assert.equal(await tab.textContent("#drill-table caption"), words["drill.table"]);
    const total = words["drill.so.far"].replace(/.*\{total\}/, "1");
    assert.ok((await says(tab)).includes(total), await says(tab));
  }));

test("after lesson 2: without the other ear it ends, and arrows fly after a choice", () =>
  within(async (tab) => {
    await tab.keyboard.press("2");
    await tab.waitForFunction(() => document.getElementById("two").checked);
    await tab.uncheck("#two");
    await tab.waitForFunction(() => window.chirrupTest.latest().lesson === -1);
    await tab.click("input[name=energy] + span >> nth=0");
    assert.ok(await tab.isChecked("input[name=energy][value='0']"));
    const speed = Number(await tab.inputValue("#speed"));
    await tab.keyboard.press("ArrowRight");
    assert.ok(await tab.isChecked("input[name=energy][value='0']"));
    assert.ok(Number(await tab.inputValue("#speed")) > speed);
    // Who chooses by keys goes on choosing.
    await tab.focus("input[name=energy][value='0']");
    await tab.keyboard.press("ArrowRight");
    assert.ok(await tab.isChecked("input[name=energy][value='1']"));
    await tab.keyboard.press("ArrowRight");
    assert.ok(await tab.isChecked("input[name=energy][value='2']"));
  }));

test("the sound check is heard by who was muted, and gives a pause back", () =>
  within(async (tab) => {
    await tab.click("#start");
    await tab.waitForFunction(() => window.chirrupTest.latest()?.left.good);
    await tab.click("#mute");
    await tab.click("#start");
    await tab.waitForFunction(() => document.getElementById("start").dataset.word === "go.on");
    await tab.click("#check-open");
    assert.equal(await tab.getAttribute("#mute", "aria-pressed"), "false");
    await tab.waitForFunction(() => window.chirrupTest.heardNow("left").meaning === 2);
    await tab.click("#check-close");
    await tab.waitForFunction(() => document.getElementById("start").dataset.word === "go.on");
  }));
