// "Find the core": the same score in the page as on this machine, to the bit; the same air for the
// same link; the debrief in the window; a result that a table takes.

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { after, before, test } from "node:test";
import { unpacked } from "../packed.mjs";
import { folder, launch, open, page } from "./browser.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core"), "utf8");
const native = process.env.CHIRRUP_NATIVE ?? `${folder}/target/debug/examples/native`;
const ROUND_S = 190;
const RATE = 8_000;
const BLOCK = 128;
const FRAMES = Math.ceil(((ROUND_S + 1) * RATE) / BLOCK) * BLOCK;
let browser;

before(async () => {
  browser = await launch();
});
after(() => browser.close());

const state = (tab, of) => tab.evaluate(of);
const runOn = (tab, seconds) => tab.evaluate((asked) => window.chirrupTest.runOn(asked), seconds);
const phase = (tab) => state(tab, () => window.chirrupTest.hunt().now?.phase);

/** The page with a link to an air. */
async function opened(hash, options = {}) {
  const view = await open(browser, options);
  await view.tab.evaluate((wanted) => {
    location.hash = wanted;
  }, hash);
  await view.tab.waitForSelector("#hunt-view[open]");
  return view;
}

async function begun(tab) {
  await tab.click("#hunt-begin");
  await tab.waitForFunction(() => window.chirrupTest.hunt().now?.phase > 0);
}

/** A round to its end; `steer` is called every two seconds. */
async function flown(tab, steer) {
  await begun(tab);
  if (!steer) await runOn(tab, ROUND_S + 1);
  for (let time = 0; steer && time < ROUND_S + 2 && await phase(tab) !== 3; time += 2) {
    await steer(time);
    await runOn(tab, 2);
  }
  await tab.waitForSelector("#hunt-debrief:not([hidden])");
  return state(tab, () => window.chirrupTest.hunt().result);
}

/** The page's WebAssembly in this process. */
async function coreOfPage() {
  const [, packed] = readFileSync(page, "utf8").match(/const CORE = "([^"]+)"/);
  return (await WebAssembly.instantiate(unpacked(packed), {})).instance.exports;
}

/** Calls of a pilot who flattens while the pitch rises; he knows nothing else. */
async function flattening(seed, round) {
  const core = await coreOfPage();
  core.start(RATE, 1);
  const script = [];
  const call = (frame, name, ...values) => {
    core[name](...values);
    script.push({ frame, call: name, values });
  };
  call(0, "hunt_open", seed, round);
  call(0, "hunt_begin");
  const pitches = [];
  for (let frame = 0; frame < FRAMES; frame += BLOCK) {
    if (frame > 12 * RATE && frame % (32 * BLOCK) === 0) {
      const numbers = new Float64Array(core.memory.buffer, core.hunt_report(), core.hunt_length());
      const pitch = numbers[9] || 455;
      const change = pitch - (pitches[pitches.length - 3] ?? pitch);
      pitches.push(pitch);
      call(frame, "hunt_bank", Math.round(40 - Math.max(-10, Math.min(10, change / 20))));
    }
    core.fill(BLOCK);
  }
  assert.equal(core.hunt_result(), 1, "the round is over");
  const text = new TextDecoder().decode(
    new Uint8Array(core.memory.buffer, core.text(), core.text_bytes()));
  return { script, score: text.split("\n")[0] };
}

function natively(script) {
  const lines = script.map(({ frame, call, values = [] }) => [frame, call, ...values].join(" "));
  const { stdout, stderr, status } = spawnSync(native, [RATE, 1, FRAMES].map(String), {
    input: lines.join("\n"), maxBuffer: 1 << 28 });
  assert.equal(status, 0, String(stderr));
  return { sound: stdout, score: String(stderr).trim() };
}

test("a pilot who hears the pitch has the same sound and score here and in the page", async () => {
  const { script, score } = await flattening(7, 2);
  assert.ok(script.length > 200);
  const share = Number(score.split("\t")[3]);
  assert.ok(share > 0.33 && share < 1, `${share} is more than holding still has`);
  const expected = natively(script);
  assert.equal(score, expected.score);
  const { tab, close } = await open(browser);
  const asks = { frame: FRAMES - BLOCK, call: "hunt_result", asks: 1 };
  const found = await tab.evaluate((asked) => window.chirrupTest.renderAnswers(asked),
    { rate: RATE, seed: 1, frames: FRAMES, script: [...script, asks] });
  assert.equal(found.answers[0].split("\n")[0], expected.score);
  const sound = Buffer.from(found.sound, "base64");
  assert.ok(sound.some((byte) => byte !== 0), "something is heard");
  assert.ok(sound.equals(expected.sound), "the same samples");
  await close();
});

test("another bank at one moment is another score", async () => {
  const { script, score } = await flattening(7, 2);
  const changed = script.map((call, place) =>
    (place === 150 ? { ...call, values: [call.values[0] + 1] } : call));
  assert.notEqual(natively(changed).score, score);
});

test("a number gives the same air whatever the help, another number another", async () => {
  const fields = [];
  for (const hash of ["#hunt=123", "#hunt=123", "#hunt=124", "#hunt=123,2"]) {
    const { tab, complaints, close } = await opened(hash);
    const { seed, round, field } = await flown(tab);
    assert.equal(hash.replace("#hunt=", ""), round > 1 ? `${seed},${round}` : String(seed));
    fields.push(JSON.stringify(field));
    assert.deepEqual(complaints, []);
    await close();
  }
  assert.equal(fields[0], fields[1]);
  assert.notEqual(fields[0], fields[2]);
  assert.equal(fields[0], fields[3]);
});

for (const [width, height] of [[1280, 720], [390, 844], [844, 390]]) {
  test(`the debrief is in the window of ${width} by ${height}, for everyone`, async () => {
    const { tab, complaints, close } = await opened("#hunt=5", { width, height });
    const result = await flown(tab, (time) =>
      tab.keyboard.press(time % 4 === 0 ? "ArrowLeft" : "ArrowRight"));
    assert.ok(result.turns.length >= 5 && result.path.length > 800, "turns and path");
    for (const id of ["hunt-share", "hunt-after", "hunt-did", "hunt-side", "hunt-next",
      "hunt-canvas"]) {
      const box = await tab.locator(`#${id}`).boundingBox();
      assert.ok(box && box.x >= 0 && box.x + box.width <= width + 1, `${id} beside the window`);
      const low = box.y + box.height;
      assert.ok(box.y >= 0 && low <= height + 1, `${id} ends at ${low}`);
    }
    // The map has the thermal's glow, its rings and the path: many colours.
    const colours = await state(tab, () => {
      const canvas = document.getElementById("hunt-canvas");
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      const found = new Set();
      for (let place = 0; place < data.length; place += 4)
        found.add((data[place] << 16) | (data[place + 1] << 8) | data[place + 2]);
      return found.size;
    });
    assert.ok(colours > 100, `${colours} colours`);
    const wide = await state(tab, () => document.documentElement.scrollWidth);
    assert.ok(wide <= width, `${wide} pixels wide`);
    await tab.evaluate(axe);
    const { violations } = await tab.evaluate(() => window.axe.run("#hunt-view"));
    assert.deepEqual(violations.map(({ id, nodes }) => `${id}: ${nodes[0].html}`), []);
    assert.deepEqual(complaints, []);
    await close();
  });
}

test("the line of the result is one that a table takes, whatever the name", async () => {
  const { tab, close } = await opened("#hunt=9");
  const { share } = await flown(tab);
  await tab.fill("#hunt-who", "Ada\tB");
  const [header, line, ...rest] = (await tab.inputValue("#hunt-line")).trimEnd().split("\n");
  assert.equal(rest.length, 0);
  const row = Object.fromEntries(header.split("\t").map((name, place) =>
    [name, line.split("\t")[place]]));
  assert.equal(line.split("\t").length, header.split("\t").length);
  assert.deepEqual({ ...row, centred_s: "" }, { name: "Ada B", air: "9", round: "1",
    share_percent: (100 * share).toFixed(0), centred_s: "", while_improving: "kept" });
  assert.match(row.centred_s, /^\d*$/);
  await close();
});

test("another air for the next round, the link's end for a file, in a line of its own", async () => {
  const before = () => {
    const clipboard = { writeText: async (text) => { window.copied = text; } };
    Object.defineProperty(navigator, "clipboard", { value: clipboard });
  };
  const { tab, complaints, close } = await opened("#hunt=77", { before });
  await flown(tab);
  const climb = await tab.textContent("#hunt-climb");
  await tab.click("#hunt-link");
  await tab.waitForFunction(() => window.copied === "#hunt=77");
  assert.match(await tab.textContent("#hunt-done"), /#hunt=77\. Everyone opens the page/);
  assert.equal(await tab.textContent("#hunt-climb"), climb);
  assert.equal(await tab.textContent("#hunt-on"), "Round 2 · Air number 78");
  await tab.click("#hunt-on");
  assert.equal(await state(tab, () => location.hash), "#hunt=78,2");
  await tab.fill("#hunt-seed", "-5");
  await tab.click("#hunt-begin");
  assert.equal(await tab.inputValue("#hunt-seed"), "0");
  assert.deepEqual(complaints, []);
  await close();
});

test("a muted round says so; M and the bar unmute it; a button levels the wings", async () => {
  const { tab, complaints, close } = await opened("#hunt=3");
  const isMuted = () => state(tab, () => !document.getElementById("hunt-muted").hidden);
  await begun(tab);
  assert.equal(await isMuted(), false);
  await tab.keyboard.press("m");
  assert.equal(await isMuted(), true);
  await tab.keyboard.press("m");
  assert.equal(await isMuted(), false);
  await tab.click("#hunt-mute");
  assert.equal(await isMuted(), true);
  await tab.click("#hunt-mute");
  await tab.locator("#hunt-volume").fill("0");
  assert.equal(await isMuted(), true);
  await tab.locator("#hunt-volume").fill("5");
  assert.equal(await isMuted(), false);
  await tab.waitForFunction(() => window.chirrupTest.hunt().bank > 30);
  await tab.click("#hunt-level");
  assert.equal(await state(tab, () => window.chirrupTest.hunt().bank), 0);
  assert.deepEqual(complaints, []);
  await close();
});

for (const locale of ["en-GB", "de-AT", "fr-CA"]) {
  test(`a running round fits a telephone in ${locale}, upright and on its side`, async () => {
    for (const [width, height] of [[390, 844], [844, 390]]) {
      const { tab, complaints, close } = await opened("#hunt=3", { width, height, locale });
      await begun(tab);
      await state(tab, () => {
        document.getElementById("hunt-left").click();
      });
      await tab.waitForFunction(() => /°/.test(document.getElementById("hunt-bank").textContent));
      const out = await state(tab, () => {
        const box = (id) => document.getElementById(id).getBoundingClientRect();
        const seen = ["hunt-leave", "hunt-mute", "hunt-clock", "hunt-round", "hunt-bank",
          "hunt-left", "hunt-right", "hunt-level"];
        const cut = seen.filter((id) => {
          const { scrollWidth, clientWidth } = document.getElementById(id);
          return box(id).left < 0 || box(id).right > innerWidth || box(id).bottom > innerHeight ||
            clientWidth > 0 && scrollWidth > clientWidth;
        });
        const isUnder = box("hunt-bank").left < box("hunt-left").right ||
          box("hunt-bank").right > box("hunt-right").left;
        return [...cut, ...(isUnder ? ["bank under a button"] : [])];
      });
      assert.deepEqual(out, [], `${width} by ${height}`);
      assert.deepEqual(complaints, []);
      await close();
    }
  });
}

test("keys set the bank, Space levels the wings, Escape gives the flight back", async () => {
  const { tab, complaints, close } = await opened("#hunt=3");
  await tab.keyboard.press(" ");
  await tab.waitForFunction(() => window.chirrupTest.hunt().now?.phase > 0);
  const wanted = () => state(tab, () => window.chirrupTest.hunt().bank);
  await tab.waitForFunction(() => window.chirrupTest.hunt().bank > 30);
  const first = await wanted();
  await tab.keyboard.press("ArrowLeft");
  const flatter = await wanted();
  assert.ok(flatter < first && flatter % 5 === 0 && first - flatter <= 5, `${first} ${flatter}`);
  await tab.keyboard.press("ArrowRight");
  assert.equal(await wanted(), flatter + 5);
  await tab.keyboard.press(" ");
  assert.equal(await wanted(), 0);
  await tab.waitForFunction(() => Math.abs(window.chirrupTest.hunt().now.bank) < 5);
  await tab.click("#hunt-canvas", { position: { x: 20, y: 100 } });
  assert.equal(await wanted(), -5);
  await tab.keyboard.press("Escape");
  await tab.waitForSelector("#hunt-view:not([open])", { state: "attached" });
  const before = await state(tab, () => window.chirrupTest.latest()?.time ?? 0);
  await tab.waitForFunction((time) => window.chirrupTest.latest()?.time > time, before);
  assert.equal(await state(tab, () => location.hash), "");
  assert.deepEqual(complaints, []);
  await close();
});

test("help fades: colours, a plain path, a compass, nothing", async () => {
  for (const round of [1, 2, 3, 4]) {
    const { tab, close } = await opened(`#hunt=2,${round}`);
    await begun(tab);
    await runOn(tab, 40);
    await tab.waitForFunction(() => window.chirrupTest.hunt().now.time > 20);
    await tab.waitForTimeout(200);
    const [isDark, inks] = await state(tab, () => {
      const canvas = document.getElementById("hunt-canvas");
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      const style = getComputedStyle(document.documentElement);
      const is = (name) => {
        const hex = style.getPropertyValue(`--hunt-${name}`).trim();
        const [r, g, b] = [1, 3, 5].map((from) => parseInt(hex.slice(from, from + 2), 16));
        let count = 0;
        for (let place = 0; place < data.length; place += 4)
          count += data[place] === r && data[place + 1] === g && data[place + 2] === b;
        return count;
      };
      return [!document.getElementById("hunt-dark").hidden, { lift: is("lift"), path: is("path") }];
    });
    assert.equal(isDark, round === 4);
    assert.equal(inks.lift > 0, round === 1, `round ${round}: ${inks.lift} of lift`);
    assert.equal(inks.path > 0, round !== 4, `round ${round}: ${inks.path} of path`);
    await close();
  }
});
