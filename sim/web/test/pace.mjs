// The page's speed on this machine: figures to read, not a test, since a busy machine would fail
// it.

import { launch, open } from "./browser.mjs";

const browser = await launch();

async function pictures(width, height) {
  const { tab, close } = await open(browser, { width, height });
  await tab.click("#lessons li:nth-child(4) button");
  await tab.waitForFunction(() => window.chirrupTest.latest()?.left.good);
  await tab.evaluate(() => window.chirrupTest.runOn(30));
  const { each, perSecond } = await tab.evaluate(() => window.chirrupTest.pace());
  console.log(`a picture at ${width} px: ${each.toFixed(1)} ms; ${perSecond.toFixed(0)} a second`);
  await close();
}

/** From the slider's event to the audio thread's taking it, in the thread's own time. */
async function slider() {
  const before = () => {
    window.chirrupTest = { taken: (mark, frame) => window.chirrupTest.done(mark, frame) };
  };
  const { tab, close } = await open(browser, { before });
  await tab.click("#start");
  await tab.waitForFunction(() => window.chirrupTest.latest());
  const waits = await tab.evaluate(async () => {
    const found = [];
    for (let trial = 1; trial <= 100; trial += 1) {
      const taken = new Promise((done) => {
        window.chirrupTest.done = (_, frame) => done(frame);
      });
      const slider = document.getElementById("air");
      slider.value = trial % 2;
      const before = window.chirrupTest.now();
      slider.dispatchEvent(new Event("input", { bubbles: true }));
      window.chirrupTest.markNext();
      found.push(1000 * ((await taken) / window.chirrupTest.rate() - before));
      await new Promise((done) => setTimeout(done, 7));
    }
    return found.sort((one, other) => one - other);
  });
  const say = (share) => waits[Math.floor(share * waits.length)].toFixed(1);
  console.log(`slider to the audio thread: ${say(0.5)} ms median, ${say(0.95)} ms at 95 %; ` +
    "to the sound at most 20 ms more");
  await close();
}

await pictures(1280, 800);
await pictures(1920, 1080);
await slider();
await browser.close();
