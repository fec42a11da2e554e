// How often the sound breaks while the machine has far too much to do, before and after the page
// has changed to a longer latency. A long run by hand and no test, since it takes minutes in which
// the machine does nothing else: `just page-under-load`. Prints a line of JSON.
//
// The browser plays into a sound server that plays into nothing; what it plays is recorded there,
// so a break is heard after everything that could cause one. The sound is a steady sink.

import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, readFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { launch, open } from "./browser.mjs";

const LOAD = 15;
const RECORDED_S = 30;
const RATE_HZ = 48000;
// Time for a machine to reach that load: its average forgets in a minute.
const SETTLES_MS = 150_000;
const wait = (ms) => new Promise((resolve) => { setTimeout(resolve, ms); });

/** The sound of the browser in the next seconds. */
function record() {
  const raw = execFileSync("bash", ["-c", `timeout ${RECORDED_S} parec -d load.monitor \
    --format=s16le --rate=${RATE_HZ} --channels=1 || test $? = 124`], { maxBuffer: 1 << 26 });
  return new Int16Array(raw.buffer, raw.byteOffset, raw.length >> 1);
}

/** Breaks are 2 ms of nothing, or a step that no tone of 1 kHz makes; within 20 ms they are one. */
function breaksOf(samples) {
  const peak = samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
  if (peak < 300) throw new Error("the recording is silent");
  let [breaks, last, nothing] = [0, -Infinity, 0];
  for (let place = 1; place < samples.length; place += 1) {
    nothing = samples[place] === 0 ? nothing + 1 : 0;
    const step = Math.abs(samples[place] - samples[place - 1]);
    if (nothing !== RATE_HZ * 0.002 && step < 0.35 * peak) continue;
    if (place - last > RATE_HZ * 0.02) breaks += 1;
    last = place;
  }
  return breaks;
}

/** Breaks with the page as it is, or with a page that never sees that its sound is late. */
async function measure({ falls_back }) {
  const browser = await launch({ ignoreDefaultArgs: ["--mute-audio"] });
  const before = falls_back ? undefined : () => { window.chirrupTest = { lag: () => 0 }; };
  const { tab } = await open(browser, { before });
  await tab.click("#start");
  await tab.evaluate(() => window.chirrupTest.turn(0, -5));
  const hogs = Array.from({ length: LOAD }, () => spawn("sh", ["-c", "while :; do :; done"]));
  try {
    await wait(SETTLES_MS);
    const load = Number(readFileSync("/proc/loadavg", "utf8").split(" ")[0]);
    const latency = await tab.evaluate(() => window.chirrupTest.hint());
    return { falls_back, load, latency, breaks: breaksOf(record()), recorded_s: RECORDED_S };
  } finally {
    hogs.forEach((hog) => hog.kill("SIGKILL"));
    await browser.close();
  }
}

process.env.XDG_RUNTIME_DIR = mkdtempSync(`${tmpdir()}/chirrup-sound-`);
execFileSync("pulseaudio", ["-n", "--daemonize=yes", "--exit-idle-time=-1",
  "-L", "module-native-protocol-unix", "-L", `module-null-sink sink_name=load rate=${RATE_HZ}`]);
try {
  for (const falls_back of [false, true]) console.log(JSON.stringify(await measure({ falls_back })));
} finally {
  execFileSync("pulseaudio", ["--kill"]);
}
