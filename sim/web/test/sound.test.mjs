// The sound: the audio thread of the page gives the same samples as the native program, bit for
// bit, and with little delay.

import assert from "node:assert/strict";
import { writeFileSync, mkdtempSync, readFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { firstDifference, folder, launch, nativeFrames, open, workletFrames } from "./browser.mjs";

const [AIR, SPEED, BANK, THERMAL, OFFSET, ENERGY, FILTER, RESPONSE, NOISE, FAULT, TWO,
  VOLUME] = [...Array(12).keys()];
const turn = (frame, control, value) => ({ frame, call: "turn", values: [control, value] });
let browser;
let view;

before(async () => {
  browser = await launch();
  view = await open(browser);
});
after(() => browser.close());

async function same(rate, seconds, script) {
  const frames = Math.ceil((seconds * rate) / 128) * 128;
  const expected = nativeFrames(rate, 7, frames, script);
  const found = await workletFrames(view.tab, rate, 7, frames, script);
  assert.equal(found.length, 2 * frames);
  assert.equal(firstDifference(found, expected), -1);
  assert.ok(expected.some((sample) => Math.abs(sample) > 1000), "something is heard");
}

test("a hand on every control sounds the same in the page as on this machine", async () => {
  const s = 48_000;
  await same(s, 30, [
    turn(0, TWO, 1),
    turn(0, NOISE, 0.2),
    turn(3 * s, AIR, 2.5),
    turn(6 * s, SPEED, 42),
    turn(9 * s, ENERGY, 2),
    turn(11 * s, SPEED, 24),
    turn(13 * s, FILTER, 0),
    turn(14 * s, RESPONSE, 0.5),
    turn(15 * s, BANK, 40),
    turn(15 * s, THERMAL, 5),
    turn(16 * s, OFFSET, 60),
    turn(20 * s, VOLUME, 4),
    turn(21 * s, FAULT, 1),
    turn(28 * s, FAULT, 0),
  ]);
});

for (let lesson = 0; lesson < 6; lesson += 1) {
  test(`lesson ${lesson + 1} sounds the same in the page as on this machine`, () =>
    same(44_100, 25, [{ frame: 0, call: "lesson", values: [lesson] }]));
}

test("what the live audio thread plays is that too", async () => {
  const live = await open(browser, {
    before: () => {
      const kept = [];
      window.chirrupTest = { live: { capture: true }, kept, samples: (samples) =>
        kept.push(samples) };
    },
  });
  await live.tab.click("#start");
  await live.tab.waitForFunction(() => window.chirrupTest.kept.length > 500, null, {
    timeout: 30_000 });
  const { rate, samples } = await live.tab.evaluate(() => ({
    rate: window.chirrupTest.rate(),
    samples: window.chirrupTest.kept.slice(0, 500).flatMap((part) => [...part]),
  }));
  assert.equal(firstDifference(samples, nativeFrames(rate, 1, 500 * 128, [])), -1);
  await live.close();
});

test("a control is heard within 40 ms of being taken, wherever in a step it comes", async () => {
  const rate = 48_000;
  const sink = [turn(0, AIR, -4)];
  const frames = 8 * rate;
  const without = await workletFrames(view.tab, rate, 1, frames, sink);
  let worst = 0;
  for (let quantum = 0; quantum < 8; quantum += 1) {
    const at = 6 * rate + quantum * 128;
    const found = await workletFrames(view.tab, rate, 1, frames, [...sink, turn(at, AIR, 2)]);
    worst = Math.max(worst, Math.floor(firstDifference(found, without) / 2) - at);
  }
  const worst_ms = ((worst * 1000) / rate).toFixed(1);
  console.log(`control to sound: ${worst} frames, ${worst_ms} ms at worst`);
  assert.ok(worst > 0 && worst < 0.04 * rate, `${worst} frames`);
});

test("a trace dropped on the page sounds as the replay does", async () => {
  const trace = `${folder}/../../recordings/demo-flight.csv`;
  const text = readFileSync(trace, "utf8").split("\n");
  const name = `${mkdtempSync(join(tmpdir(), "chirrup-"))}/cut.csv`;
  const head = text.findIndex((line) => !line.startsWith("#")) + 1;
  writeFileSync(name, [...text.slice(0, head), ...text.slice(600, 2400)].join("\n"));
  const rate = 24_000;
  const frames = 128 * 187 * 30;
  const expected = nativeFrames(rate, 1, frames, [{ frame: 0, call: "load", values: [name] }]);
  const file = { name: [...Buffer.from(name)], bytes: [...readFileSync(name)] };
  const found = await workletFrames(view.tab, rate, 1, frames, [{ frame: 0, call: "load", file }]);
  assert.equal(firstDifference(found, expected), -1);
  assert.ok(found.some((sample) => Math.abs(sample) > 1000));
});

test("nothing was said on the console and nothing asked of the network", () =>
  assert.deepEqual(view.complaints, []));
