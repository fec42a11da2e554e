// The page in Debian's own Firefox: it opens from a file, starts, plays, a lesson runs, and nothing
// is said on the console.

import assert from "node:assert/strict";
import { existsSync } from "node:fs";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import puppeteer from "puppeteer-core";
import { page } from "./browser.mjs";

const executablePath = ["/usr/bin/firefox-esr", "/usr/bin/firefox"].find(existsSync);
let browser;

before(async () => {
  assert.ok(executablePath, "there is no Firefox: apt-get install firefox-esr");
  browser = await puppeteer.launch({ browser: "firefox", executablePath, headless: true,
    protocolTimeout: 60_000,
    extraPrefsFirefox: { "media.autoplay.default": 0, "intl.accept_languages": "en-GB" } });
});
after(() => browser?.close());

async function opened({ width = 1280, height = 720 } = {}) {
  const tab = await browser.newPage();
  const complaints = [];
  tab.on("console", (message) =>
    ["error", "warn"].includes(message.type()) && complaints.push(message.text()));
  tab.on("pageerror", (error) => complaints.push(String(error)));
  await tab.setViewport({ width, height });
  await tab.goto(pathToFileURL(page).href);
  await until(tab, () => document.documentElement.dataset.ready === "true");
  await tab.bringToFront();
  return { tab, complaints };
}

// Firefox draws no picture of a hidden tab, so it is looked at by the clock.
const until = (tab, holds, ...values) =>
  tab.waitForFunction(holds, { polling: 100, timeout: 20_000 }, ...values);

const captionIs = (tab, key) => until(tab, (key) =>
  document.getElementById("caption").textContent === window.chirrupTest.words().en[key],
key);

test("Firefox opens the page from a file, starts, and hears the air rise", async () => {
  const { tab, complaints } = await opened();
  await captionIs(tab, "caption.first");
  await tab.click("#start");
  await until(tab, () => window.chirrupTest.latest()?.left.good);
  const before = await tab.evaluate(() => window.chirrupTest.latest().time);
  await until(tab, (time) => window.chirrupTest.latest().time > time + 1, before);
  for (let press = 0; press < 6; press += 1) await tab.keyboard.press("ArrowUp");
  await until(tab, () => window.chirrupTest.heardNow("left").meaning === 1);
  await until(tab, () => /^Beeps/.test(document.getElementById("word-left").textContent));
  await captionIs(tab, "caption.rising");
  assert.deepEqual(complaints, []);
  await tab.close();
});

test("in Firefox a lesson runs to its end", async () => {
  const { tab, complaints } = await opened({ width: 390, height: 844 });
  await tab.evaluate(() => document.querySelectorAll("#lessons button")[2].click());
  await captionIs(tab, "lesson.sink.0");
  for (const [seconds, key] of [[8, "lesson.sink.1"], [10, "lesson.sink.2"],
    [10, "lesson.sink.3"], [10, "lesson.sink.4"]]) {
    await tab.evaluate((asked) => window.chirrupTest.ran(asked), seconds);
    await captionIs(tab, key);
  }
  await tab.evaluate(() => window.chirrupTest.ran(12));
  await until(tab, () => document.getElementById("caption").textContent.includes(
    window.chirrupTest.words().en["lesson.sink.question"]));
  assert.deepEqual(complaints, []);
  await tab.close();
});

test("in Firefox the sound moves to a longer latency and the flight goes on", async () => {
  const { tab, complaints } = await opened();
  await tab.click("#start");
  await until(tab, () => window.chirrupTest.latest()?.time > 2);
  const before = await tab.evaluate(() => {
    window.chirrupTest.moveToLonger();
    return window.chirrupTest.latest().time;
  });
  await until(tab, () => !document.getElementById("notice").hidden);
  await until(tab, (time) => window.chirrupTest.latest().time > time + 1, before);
  assert.deepEqual(complaints, []);
  await tab.close();
});
