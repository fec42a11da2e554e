// The page of a flight (`chirrup report`): its sound is the core's, sample for sample, in the page
// and in the WebAssembly that the program carries; it holds on every screen, for everyone, and
// whatever the names of files.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { copyFileSync, mkdtempSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { gunzipSync } from "node:zlib";
import { firstDifference, folder, launch, openFile } from "./browser.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core"), "utf8");
const program = process.env.CHIRRUP_PROGRAM ?? `${folder}/../../target/release/chirrup`;
const native = process.env.CHIRRUP_PLAYER ?? `${folder}/target/debug/examples/native-player`;
const recordings = `${folder}/../../recordings`;
const made = mkdtempSync(join(tmpdir(), "chirrup-flight-"));
let browser;

before(async () => {
  browser = await launch();
});
after(() => browser.close());

function report(name, traces, ...options) {
  const page = join(made, `${name}.html`);
  execFileSync(program, ["report", ...traces, "-o", page, ...options], { stdio: "pipe" });
  return page;
}

/** Settings and samples as the page carries them. */
function recordingOf(page) {
  const html = readFileSync(page, "utf8");
  const [, text] = html.match(/class="samples">([^<]*)</);
  const bytes = gunzipSync(Buffer.from(text, "base64"));
  return { settings: bytes.readUInt32LE(0), all: bytes.subarray(4) };
}

function nativeFrames({ settings, all }, rate, frames, ...calls) {
  const words = [rate, settings, frames, ...calls].map(String);
  const bytes = execFileSync(native, words, { input: all, maxBuffer: 1 << 29 });
  return new Int16Array(bytes.buffer, bytes.byteOffset, bytes.length / 2);
}

/** The samples of a WAV file: after the word `data` and its length. */
function wavFrames(file) {
  const bytes = readFileSync(file);
  const start = bytes.indexOf("data") + 8;
  return new Int16Array(bytes.buffer.slice(bytes.byteOffset + start));
}

/** The frames of the WebAssembly that the program carries, run here. */
async function coreFrames(page, rate, frames, ...calls) {
  const [, text] = readFileSync(page, "utf8").match(/id="core">([^<]*)</);
  const { instance } = await WebAssembly.instantiate(gunzipSync(Buffer.from(text, "base64")), {});
  const core = instance.exports;
  const { settings, all } = recordingOf(page);
  const room = core.room(all.length);
  new Uint8Array(core.memory.buffer, room, all.length).set(all);
  assert.equal(core.load(rate, settings, all.length), 1);
  for (let place = 0; place < calls.length;) {
    const count = { seek: 1, pace: 2 }[calls[place]];
    core[calls[place]](...calls.slice(place + 1, place + 1 + count));
    place += 1 + count;
  }
  const found = new Int16Array(frames);
  for (let done = 0; done < frames; done += 128) {
    const count = Math.min(128, frames - done);
    found.set(new Int16Array(core.memory.buffer, core.fill(128), count), done);
  }
  return found;
}

test("from the start the page sounds as `chirrup replay --wav`, to the sample", async () => {
  const trace = `${recordings}/demo-flight.csv`;
  const wav = join(made, "demo.wav");
  execFileSync(program, ["replay", trace, "--wav", wav, "--sound-rate", "24000"], {
    stdio: "pipe" });
  const expected = wavFrames(wav);
  const found = await coreFrames(report("demo", [trace]), 24_000, expected.length);
  assert.ok(expected.some((sample) => Math.abs(sample) > 5_000), "something is heard");
  assert.equal(firstDifference(found, expected), -1);
});

for (const calls of [["seek", 100], ["pace", 1, 8], ["pace", 2, 1], ["seek", 250, "pace", 1, 2]]) {
  test(`the carried core plays ${calls.join(" ")} as this machine does`, async () => {
    const page = report("ridge", [`${recordings}/ridge.csv`], "--settings", "response_s=0.6");
    const expected = nativeFrames(recordingOf(page), 44_100, 44_100 * 20, ...calls);
    const found = await coreFrames(page, 44_100, 44_100 * 20, ...calls);
    assert.ok(expected.some((sample) => Math.abs(sample) > 5_000), "something is heard");
    assert.equal(firstDifference(found, expected), -1);
  });
}

test("what the page plays in a browser is that too, from a climb that was clicked", async () => {
  const page = report("tow", [`${recordings}/aerotow-and-thermal.csv`]);
  const view = await openFile(browser, page, {
    before: () => {
      const kept = [];
      window.chirrupTest = { live: { capture: true }, kept, samples: (samples) =>
        kept.push(samples) };
    },
  });
  await view.tab.click("button.hear >> nth=0");
  await view.tab.waitForFunction(() => window.chirrupTest.kept.length > 3_000, null, {
    timeout: 30_000 });
  const { rate, samples, from } = await view.tab.evaluate(() => {
    const [flight] = window.chirrupTest.flights;
    const samples = window.chirrupTest.kept.slice(0, 3_000).flatMap((part) => [...part]);
    return { samples, rate: flight.context.sampleRate,
      from: flight.data.climbs[0][0] - flight.data.start_s - 5 };
  });
  const expected = nativeFrames(recordingOf(page), rate, 3_000 * 128, "seek", from);
  assert.equal(firstDifference(samples, expected), -1);
  assert.ok(samples.some((sample) => Math.abs(sample) > 3_000), "something is heard");
  assert.deepEqual(view.complaints, []);
  await view.close();
});

const SIZES = [[1280, 800], [820, 1180], [390, 844]];

for (const [width, height] of SIZES) {
  test(`one flight and two hold on ${width} by ${height}, for everyone`, async () => {
    const traces = ["winch-and-circuit", "wave"].map((name) => `${recordings}/${name}.csv`);
    for (const page of [report("one", traces.slice(0, 1)), report("two", traces)]) {
      const { tab, complaints, close } = await openFile(browser, page, { width, height });
      const wide = await tab.evaluate(() => document.documentElement.scrollWidth);
      assert.ok(wide <= width, `${wide} pixels wide`);
      await tab.evaluate(axe);
      const { violations } = await tab.evaluate(() => window.axe.run());
      const said = violations.map(({ id, nodes }) => `${id}: ${nodes[0].html}`);
      assert.deepEqual(said, []);
      // The picture is not empty, and every climb can be heard.
      const drawn = await tab.evaluate(() => {
        const canvas = document.querySelector(".chart");
        const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
        return data.some((value) => value > 0);
      });
      assert.ok(drawn, "the chart is drawn");
      assert.deepEqual(complaints, []);
      await close();
    }
  });
}

test("in print nothing is cut off and no control is left", async () => {
  const { tab, close } = await openFile(browser, report("print", [`${recordings}/wave.csv`]));
  await tab.emulateMedia({ media: "print" });
  await tab.setViewportSize({ width: 700, height: 1000 });
  const found = await tab.evaluate(() => ({
    wide: document.documentElement.scrollWidth,
    buttons: [...document.querySelectorAll("button")].filter((each) => each.offsetParent).length,
  }));
  assert.ok(found.wide <= 700, `${found.wide} pixels wide`);
  assert.equal(found.buttons, 0);
  await close();
});

test("keys play, move, zoom and go from climb to climb", async () => {
  const page = report("keys", [`${recordings}/aerotow-and-thermal.csv`]);
  const { tab, complaints, close } = await openFile(browser, page);
  const chart = () => tab.evaluate(() => {
    const { from, to, now } = window.chirrupTest.flights[0].chart;
    return { from, to, now };
  });
  await tab.focus(".chart");
  await tab.keyboard.press("ArrowRight");
  assert.equal((await chart()).now, 10);
  await tab.keyboard.press("n");
  const { now } = await chart();
  assert.ok(now > 10, "the next climb");
  const whole = await chart();
  await tab.keyboard.press("+");
  const closer = await chart();
  assert.ok(Math.abs((closer.to - closer.from) / (whole.to - whole.from) - 0.5) < 0.01);
  await tab.keyboard.press(" ");
  await tab.waitForFunction((before) => window.chirrupTest.flights[0].chart.now > before + 0.2, now);
  assert.equal(await tab.textContent(".play"), "Pause");
  assert.deepEqual(complaints, []);
  await close();
});

test("a name is shown as it is and runs nothing", async () => {
  const name = 'x"><img src=x onerror=document.title=1><script>document.title=2<|script> #1 50%.csv';
  const trace = join(made, name);
  copyFileSync(`${recordings}/spin.csv`, trace);
  const page = report("names", [trace], "--wav", join(made, "50 % #1?.wav"));
  const { tab, complaints, close } = await openFile(browser, page);
  const found = await tab.evaluate(() => ({
    title: document.title, heading: document.querySelector("h1").textContent,
    images: document.images.length, href: document.querySelector("a").href }));
  assert.equal(found.images, 0);
  assert.equal(found.heading, found.title);
  assert.ok(found.heading.includes("<script>"), found.heading);
  assert.ok(found.href.endsWith("/50%20%25%20%231%3F.wav"), found.href);
  assert.ok(readFileSync(new URL(found.href)).length > 1000);
  assert.deepEqual(complaints, []);
  await close();
});
