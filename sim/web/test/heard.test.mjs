// The screen is honest: what the strip draws is what the recorded audio holds, in every lesson,
// fault and trace; the words for the instrument follow its status.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { folder, launch, open } from "./browser.mjs";
import { HOP_S, track } from "./tracker.mjs";

const [AIR, SPEED, ENERGY, FAULT, TWO, MUTE] = [0, 1, 5, 9, 10, 12];
const TICK_HZ = 500;
// So near to an edge, in s, neither the picture nor the tracker is exact: a column of the strip is
// 8 ms, the tracker's window 6 ms, an edge fades for some ms.
const EDGE_S = 0.024;
let browser;

before(async () => {
  browser = await launch();
});
after(() => browser.close());

/** The test reads the strip often, which Chromium remarks on. */
const noneOf = (complaints) => assert.deepEqual(complaints.filter((said) =>
  !said.includes("willReadFrequently")), []);

/** A tall window, in which the strip is drawn finely, with every frame recorded. */
async function recorded() {
  const view = await open(browser, { width: 2000, height: 1700, before: () => {
    const kept = [];
    window.chirrupTest = { live: { capture: true }, kept,
      samples: (samples) => kept.push(samples) };
  } });
  await view.tab.click("#start");
  await view.tab.waitForFunction(() => window.chirrupTest.latest()?.left.good);
  return view;
}

const turn = (tab, control, value) => tab.evaluate(([control, value]) =>
  window.chirrupTest.turn(control, value), [control, value]);

const bytesOf = (text) => {
  const bytes = Buffer.from(text, "base64");
  return bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length);
};

/** Runs on, then takes the strip and as many of the last recorded frames as it shows. */
async function stripAndSound(tab, seconds) {
  const { strip, sound, rate } = await tab.evaluate(async (seconds) => {
    await window.chirrupTest.ran(seconds);
    const strip = window.chirrupTest.strip();
    const rate = window.chirrupTest.rate();
    const frames = Math.floor((strip.ticks * rate) / 500);
    const { kept } = window.chirrupTest;
    let end = 0;
    const wanted = [];
    for (const part of kept) {
      if (end + part.length / 2 > frames - 16 * rate) wanted.push([end, part]);
      end += part.length / 2;
    }
    const first = wanted[0][0];
    const all = new Int16Array(2 * (end - first));
    for (const [start, part] of wanted) all.set(part, 2 * (start - first));
    return { strip, rate, sound: { first, samples: window.chirrupTest.inBase64(all) } };
  }, seconds);
  return { strip: { ...strip, pixels: new Uint8Array(bytesOf(strip.pixels)) }, rate,
    first: sound.first, samples: new Int16Array(bytesOf(sound.samples)) };
}

/** The drawn pitch of every column of a stave; 0 where nothing is drawn. */
function drawn({ pixels, width, places, ratio, hertz, colours }, stave) {
  const { start, end, top, bottom } = places[stave];
  const inks = Object.values(colours).map((text) => text.match(/[0-9a-f]{2}/gi).map((pair) =>
    parseInt(pair, 16)));
  const isInk = (at) => pixels[at + 3] > 128 && inks.some((ink) => ink.every((value, channel) =>
    Math.abs(pixels[at + channel] - value) < 40));
  const columns = [];
  for (let x = Math.ceil(start * ratio); x < Math.floor(end * ratio); x += 1) {
    let [sum, count] = [0, 0];
    for (let y = Math.round((top - 6) * ratio); y < (bottom + 6) * ratio; y += 1) {
      if (!isInk(4 * (y * width + x))) continue;
      sum += y + 0.5;
      count += 1;
    }
    const share = (bottom - sum / count / ratio) / (bottom - top);
    const pitch = count ? hertz.least * (hertz.most / hertz.least) ** share : 0;
    columns.push({ x: (x + 0.5) / ratio, pitch });
  }
  return columns;
}

/** Compares one stave with what its ear was given; returns how many columns sounded. */
function compare({ strip, rate, first, samples }, stave, when) {
  const { start, end } = strip.places[stave];
  const ear = samples.filter((_, place) => place % 2 === stave);
  const hops = track(ear, rate);
  let sounding = 0;
  for (const { x, pitch } of drawn(strip, stave)) {
    const tick = strip.ticks - ((end - x) / (end - start)) * strip.seconds * TICK_HZ;
    const seconds = tick / TICK_HZ - first / rate;
    const near = hops.slice(Math.max(0, Math.ceil((seconds - EDGE_S) / HOP_S)),
      Math.floor((seconds + EDGE_S) / HOP_S) + 1);
    if (tick < 0 || near.length < 8) continue;
    const share = near.filter(({ sounds }) => sounds).length / near.length;
    const says = `${when}, ${(tick / TICK_HZ).toFixed(2)} s: drawn ${pitch.toFixed(0)} Hz`;
    if (share === 0) assert.equal(pitch, 0, `${says}, silent`);
    if (share < 1) continue;
    assert.ok(pitch > 0, `${says}, but it sounds`);
    sounding += 1;
    // Within a column the pitch may glide.
    const heard = near.slice(3, -3).map((hop) => hop.pitch).filter((found) => found > 0);
    const fits = pitch > 0.95 * Math.min(...heard) && pitch < 1.05 * Math.max(...heard);
    assert.ok(heard.length === 0 || fits, `${says}, heard ${heard.map(Math.round)}`);
  }
  return sounding;
}

async function compareAll(tab, seconds, when) {
  const found = await stripAndSound(tab, seconds);
  const { places } = found.strip;
  return places.reduce((sum, _, stave) => sum + compare(found, stave, `${when}, ear ${stave}`), 0);
}

test("in every lesson each drawn note is in the recorded sound, and each sound is drawn",
  async () => {
    const { tab, complaints, close } = await recorded();
    const lessons = await tab.evaluate(() => window.chirrupTest.choices().lessons);
    for (const [place, { key, seconds }] of lessons.entries()) {
      await tab.click(`#lessons li:nth-child(${place + 1}) button`);
      let sounding = 0;
      for (let left = seconds; left > 0; left -= 13) {
        sounding += await compareAll(tab, Math.min(left, 13), `lesson ${key}`);
      }
      assert.ok(sounding > 200, `lesson ${key} sounds in ${sounding} columns`);
    }
    noneOf(complaints);
    await close();
  });

test("under every fault, and muted, each drawn note is in the recorded sound", async () => {
  const { tab, complaints, close } = await recorded();
  for (const fault of [1, 2, 3]) {
    await turn(tab, AIR, 3);
    await turn(tab, FAULT, fault);
    let sounding = 0;
    for (let part = 0; part < 3; part += 1)
      sounding += await compareAll(tab, 13, `fault ${fault}`);
    assert.ok(sounding > 30, `fault ${fault} sounds in ${sounding} columns`);
    await turn(tab, FAULT, 0);
    await compareAll(tab, 13, `after fault ${fault}`);
  }
  await turn(tab, MUTE, 1);
  assert.equal(await compareAll(tab, 16, "muted"), 0);
  noneOf(complaints);
  await close();
});

test("of a trace each drawn note is in the recorded sound", async () => {
  const { tab, complaints, close } = await recorded();
  for (const [name, from] of [["demo-flight.csv", 205], ["winch-and-circuit.csv", 10]]) {
    await tab.setInputFiles("#file", `${folder}/../../recordings/${name}`);
    await tab.waitForSelector("#playing:not([hidden])");
    await tab.locator("#seek").fill(String(from));
    let sounding = 0;
    for (let part = 0; part < 4; part += 1) sounding += await compareAll(tab, 13, name);
    assert.ok(sounding > 200, `${name} sounds in ${sounding} columns`);
    await tab.click("#afresh");
  }
  noneOf(complaints);
  await close();
});

const BARE = ["no_compensation", "check_tubes"];

/** Checks the words of every half second of so many seconds; returns the statuses met. */
async function words(tab, seconds, when, met) {
  for (let step = 0; step < 2 * seconds; step += 1) {
    const told = await tab.evaluate(async () => {
      await window.chirrupTest.ran(0.5);
      return window.chirrupTest.told();
    });
    for (const side of told.two ? ["left", "right"] : ["left"]) {
      const { status, text, good, sounds } = told[side];
      met.add(status);
      const says = `${when}, ${side}, ${status}: ${text}`;
      if (BARE.includes(status) || !good) assert.doesNotMatch(text, /compensated/i, says);
      // The large words are those of the sound.
      const word = { 0: /Silence/, 1: /Beeps/, 2: /Low tone/, 4: /Falling notes/ }[sounds];
      assert.match(text, word, says);
      if (!good) assert.doesNotMatch(text, /m\/s/, says);
    }
    // Where the one instrument is not compensated, nothing on the stage says so.
    if (BARE.includes(told.left.status) && !told.two)
      assert.doesNotMatch(told.stage, /compensated/i, `${when}: ${told.stage}`);
  }
}

test("“compensated” never shows under no_compensation or check_tubes; words follow the sound",
  async () => {
    const { tab, close } = await open(browser);
    await tab.click("#start");
    await tab.waitForFunction(() => window.chirrupTest.latest()?.left.good);
    const met = new Set();
    const lessons = await tab.evaluate(() => window.chirrupTest.choices().lessons);
    for (const [place, { key, seconds }] of lessons.entries()) {
      await tab.click(`#lessons li:nth-child(${place + 1}) button`);
      await words(tab, seconds, `lesson ${key}`, met);
    }
    for (const energy of [1, 0, 2]) {
      await turn(tab, ENERGY, energy);
      for (const fault of [1, 2, 3, 0]) {
        await turn(tab, AIR, 2.5);
        await turn(tab, SPEED, 30);
        await turn(tab, FAULT, fault);
        await words(tab, 20, `energy ${energy}, fault ${fault}`, met);
      }
    }
    await turn(tab, ENERGY, 1);
    await turn(tab, TWO, 0);
    // Without an airspeed in the trace nothing can be compensated.
    for (const name of ["wave.csv", "bare.csv"]) {
      const rows = Array.from({ length: 1500 }, (_, row) => `${row * 0.02},${90000 - 0.72 * row}`);
      const file = name === "bare.csv" ? { name, mimeType: "text/csv",
        buffer: Buffer.from(["time_s,static_pa", ...rows].join("\n")) }
        : `${folder}/../../recordings/${name}`;
      await tab.setInputFiles("#file", file);
      await tab.waitForSelector("#playing:not([hidden])");
      // By itself, and by an airspeed that is not there.
      await words(tab, 10, name, met);
      await turn(tab, ENERGY, 1);
      await words(tab, 20, name, met);
    }
    for (const status of [...BARE, "ok", "frozen", "bad_pressure", "settling"])
      assert.ok(met.has(status), `${status} was met, of ${[...met]}`);
    await close();
  });
