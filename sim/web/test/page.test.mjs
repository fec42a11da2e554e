// The page as people use it: lessons, keys, screen readers, small and large screens.

import assert from "node:assert/strict";
import { mkdirSync, readFileSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { after, before, test } from "node:test";
import { folder, launch, open, page } from "./browser.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core"), "utf8");
let browser;

before(async () => {
  browser = await launch();
});
after(() => browser.close());

async function within(options, act) {
  const { tab, complaints, close } = await open(browser, options);
  await act(tab);
  assert.deepEqual(complaints, []);
  await close();
}

const caption = (tab) => tab.textContent("#caption");
const isPlaying = (tab) => tab.waitForFunction(() => window.chirrupTest.latest()?.left.good);

/** The instrument is run on at once, not in the time that it takes to hear it. */
const runOn = (tab, seconds) => tab.evaluate((asked) => window.chirrupTest.runOn(asked), seconds);

test("the page is smaller than 400 KiB and forbids the network", () => {
  const bytes = statSync(page).size;
  console.log(`the page: ${(bytes / 1024).toFixed(0)} KiB`);
  assert.ok(bytes < 400 * 1024);
  const html = readFileSync(page, "utf8");
  const policy = html.match(/Content-Security-Policy" content="([^"]*)"/)[1];
  assert.match(policy, /default-src 'none'/);
  assert.match(policy, /connect-src 'none'/);
  assert.doesNotMatch(policy, /https?:|\*|'self'|unsafe-eval'(?<!wasm-unsafe-eval')/);
});

test("the policy is in force: the page cannot fetch", async () => {
  const { tab, complaints, close } = await open(browser);
  const outcome = await tab.evaluate(async () => {
    const refused = new Promise((done) => addEventListener("securitypolicyviolation", (event) =>
      done(event.violatedDirective)));
    fetch("https://example.invalid/").catch(() => {});
    return refused;
  });
  assert.equal(outcome, "connect-src");
  assert.ok(complaints.length > 0 && complaints.every((complaint) =>
    /Content Security Policy|example.invalid/.test(complaint)));
  await close();
});

test("every lesson runs to its end, caption by caption, and asks its question", () =>
  within({}, async (tab) => {
    await tab.click("#start");
    await isPlaying(tab);
    const lessons = await tab.evaluate(() => window.chirrupTest.choices().lessons);
    for (const [place, { title, seconds, cues, question }] of lessons.entries()) {
      await tab.click(`#lessons li:nth-child(${place + 1}) button`);
      let told = 0;
      for (const [number, { at, caption: said }] of cues.entries()) {
        const seen = tab.waitForFunction((text) =>
          document.getElementById("caption").textContent === text, said);
        await runOn(tab, at + 0.2 - told);
        told = at + 0.2;
        await seen;
        assert.equal(await tab.getAttribute(`#lessons li:nth-child(${place + 1}) button`,
          "aria-pressed"), "true", `${title} ${number}`);
      }
      await runOn(tab, seconds - told + 0.5);
      await tab.waitForFunction((text) =>
        document.getElementById("caption").textContent.includes(text), question);
    }
  }));

test("all can be done with the keys alone", () =>
  within({}, async (tab) => {
    const press = (...keys) => keys.reduce((before, key) => before.then(() =>
      tab.keyboard.press(key)), Promise.resolve());
    // Tab reaches every control, each shows an outline, none traps the focus.
    const reached = [];
    for (let step = 0; step < 80; step += 1) {
      await press("Tab");
      const found = await tab.evaluate(() => {
        const focused = document.activeElement;
        if (focused === document.body) return null;
        const { outlineStyle, outlineWidth } = getComputedStyle(focused);
        return { name: focused.id || focused.textContent.trim(), seen: outlineStyle !== "none" &&
          parseFloat(outlineWidth) >= 2 };
      });
      if (!found) break;
      assert.ok(found.seen, `${found.name} shows that it has the focus`);
      reached.push(found.name);
    }
    for (const name of ["start", "mute", "volume", "check-open", "language", "fly", "air", "speed",
      "still", "two", "response", "noise", "fault", "file"]) {
      assert.ok(reached.includes(name), `${name} is reached by Tab, of ${reached}`);
    }
    await tab.focus("#start");
    await press("Enter");
    await isPlaying(tab);
    // The focus stays on the button; the keys fly from there.
    await press("ArrowUp", "ArrowUp", "ArrowUp", "ArrowUp", "ArrowRight", "ArrowLeft", "ArrowLeft");
    assert.equal(await tab.inputValue("#air"), "2");
    assert.equal(await tab.inputValue("#speed"), "26");
    await tab.waitForFunction(() => window.chirrupTest.latest().left.meaning === 1, null, {
      timeout: 15_000 });
    await press("r");
    assert.match(await tab.textContent("#read-out"),
      /Both ears: Beeps: climb, \+\d\.\d metres a second\. Height \d+ metres/);
    await press("m");
    assert.equal(await tab.getAttribute("#mute", "aria-pressed"), "true");
    await press("m", "0");
    assert.equal(await tab.inputValue("#air"), "0");
    await press("2");
    await tab.waitForFunction(() =>
      document.getElementById("caption").textContent.startsWith("Headphones on"));
    await tab.waitForFunction(() => document.getElementById("two").checked);
    await tab.focus("#two");
    await press("Space");
    await tab.waitForFunction(() => document.getElementById("ear-right").hidden);
    await tab.focus("input[name=energy]:checked");
    await press("ArrowRight");
    await tab.waitForFunction(() =>
      document.getElementById("name-left").textContent.includes("probe"));
  }));

test("keys fly wherever the focus is, except while typing and in what needs them itself", () =>
  within({}, async (tab) => {
    const air = () => tab.inputValue("#air");
    // The first arrow key of all starts the sound.
    await tab.keyboard.press("ArrowUp");
    await isPlaying(tab);
    await tab.waitForFunction(() => document.getElementById("air").value === "0.5");
    for (const place of ["#mute", "#lessons button >> nth=3", "#fly", "summary >> nth=0"]) {
      const before = Number(await air());
      await tab.focus(place);
      await tab.keyboard.press("ArrowUp");
      assert.equal(Number(await air()), before + 0.5, place);
    }
    const before = await air();
    for (const place of ["#volume", "#wanted", "#fault", "#drill-seed"]) {
      await tab.focus(place);
      await tab.keyboard.press("ArrowUp");
      assert.equal(await air(), before, `${place} keeps its arrows`);
    }
    assert.equal(await tab.inputValue("#volume"), "9");
    await tab.focus("#drill-seed");
    await tab.keyboard.type("12");
    assert.equal(await tab.evaluate(() => window.chirrupTest.latest().lesson), -1);
    await tab.uncheck("#keys-on");
    await tab.focus("#mute");
    await tab.keyboard.press("ArrowUp");
    assert.equal(await air(), before, "turned off");
  }));

test("dragging the picture moves the air and the stick, also as the first thing", () =>
  within({}, async (tab) => {
    const { x, y, width, height } = await tab.locator("#fly").boundingBox();
    const at = [x + 0.8 * width, y + 0.6 * height];
    await tab.mouse.move(...at);
    await tab.mouse.down();
    await tab.mouse.move(at[0] - 0.1 * width, at[1] - 0.25 * height, { steps: 5 });
    const said = await tab.textContent("#hand");
    await tab.mouse.up();
    await isPlaying(tab);
    const [air, speed] = await tab.evaluate(() =>
      window.chirrupTest.choices().controls.map(({ value }) => value));
    assert.ok(Math.abs(air - 3) < 0.2, `the air ${air}`);
    assert.match(said, /\+3\.0 m\/s.*km\/h/);
    assert.ok(speed < 26, `the stick ${speed}`);
    assert.ok(await tab.isHidden("#hand"));
  }));

/** Whether each element lies wholly in the window, and no two of them overlap. */
const inside = (tab, ids) => tab.evaluate((ids) => {
  const boxes = ids.map((id) => [id, document.querySelector(id).getBoundingClientRect()]);
  const out = boxes.filter(([, { left, top, right, bottom, width, height }]) => left < -0.5 ||
    top < -0.5 || right > innerWidth + 0.5 || bottom > innerHeight + 0.5 || width < 40 ||
    height < 15).map(([id]) => id);
  const over = boxes.flatMap(([one, a], place) => boxes.slice(place + 1).filter(([, b]) =>
    a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1)
    .map(([other]) => `${one} and ${other}`));
  return { out, over };
}, ids);

for (const [width, height] of [[1280, 720], [1024, 768], [390, 844], [844, 390]]) {
  for (const locale of ["en-GB", "de-DE", "fr-FR"]) {
    test(`all of the stage is in the window of ${width} by ${height} in ${locale}`, () =>
      within({ width, height, locale }, async (tab) => {
        const parts = ["#start", "#caption", "#fly", "#ear-left", "#score", "#pads", "#lessons"];
        const nothing = { out: [], over: [] };
        assert.deepEqual(await inside(tab, parts), nothing, "before Start");
        assert.deepEqual((await inside(tab, ["#begin", ".first", "#pads"])).out, [], "first");
        for (const lesson of [2, 4, 6]) {
          await tab.evaluate((place) => document.querySelectorAll("#lessons button")[place].click(),
            lesson - 1);
          await isPlaying(tab);
          await runOn(tab, 25);
          await tab.waitForTimeout(300);
          assert.deepEqual(await inside(tab, parts), nothing, `lesson ${lesson}`);
        }
        // Six keys, each big enough for a thumb: 44 CSS pixels.
        const keys = await tab.evaluate(() => [...document.querySelectorAll("#pads button")]
          .map((key) => key.getBoundingClientRect()).map(({ width, height }) => [width, height]));
        assert.equal(keys.length, 6);
        for (const [wide, tall] of keys) assert.ok(wide >= 44 && tall >= 44, `${wide} by ${tall}`);
        const sky = await tab.locator("#fly").boundingBox();
        assert.ok(sky.height >= 0.28 * height, `the picture is ${sky.height} high`);
        const cut = await tab.evaluate(() => [...document.querySelectorAll(
          "#pads button, #lessons button, .reading span, #caption, header button, .first")]
          .filter((each) => each.offsetParent && (each.scrollWidth > each.clientWidth + 1 ||
            each.scrollHeight > each.clientHeight + 3)).map((each) => each.textContent));
        assert.deepEqual(cut, [], "nothing is cut off");
      }));
  }
}

test("a trace is opened, its faults are told, and a seek goes there", () =>
  within({}, async (tab) => {
    await tab.click("#start");
    await tab.setInputFiles("#file", { name: "wrong.csv", mimeType: "text/csv",
      buffer: Buffer.from("a,b\n1,2\n") });
    await tab.waitForFunction(() =>
      document.getElementById("trace-says").textContent.includes("wrong.csv"));
    await tab.setInputFiles("#file", `${folder}/../../recordings/demo-flight.csv`);
    await tab.waitForSelector("#playing:not([hidden])");
    await tab.waitForFunction(() =>
      /of 8:20/.test(document.getElementById("seek-says").textContent));
    await tab.locator("#seek").fill("220");
    await tab.waitForFunction(() => window.chirrupTest.latest().time > 219 &&
      window.chirrupTest.latest().left.meaning === 1, null, {
      timeout: 15_000,
    });
    await tab.click("#afresh");
    await tab.waitForFunction(() => window.chirrupTest.latest().length === 0);
  }));

/** Three minutes at 10 a second under names that say nothing: level, then a climb of 2.6 m/s. */
const unnamed = () => Buffer.from(`x0;x1\n${Array.from({ length: 1800 }, (_, row) =>
  `${row / 10};${(900 - 0.28 * Math.max(0, row / 10 - 60)).toFixed(4)}`).join("\n")}\n`);

test("a flight of one's own: columns by name, a profile with jumps, a pace, and a refusal", () =>
  within({}, async (tab) => {
    const latest = () => tab.evaluate(() => window.chirrupTest.latest());
    await tab.click("#start");
    await tab.setInputFiles("#file", `${folder}/../../recordings/demo-flight.csv`);
    await tab.waitForSelector("#profile:not([hidden])");
    assert.ok(await tab.locator("#climbs button").count() > 0);
    await tab.locator("#climbs button").last().click();
    await tab.waitForFunction(() => window.chirrupTest.latest().time > 60);
    // What plays goes on while another file is refused.
    await tab.setInputFiles("#file", { name: "log.csv", mimeType: "text/csv", buffer: unnamed() });
    await tab.waitForSelector("#columns:not([hidden])");
    assert.ok((await latest()).length > 490);
    assert.ok(await tab.isVisible("#playing"));
    await tab.selectOption("#column-time", "x0");
    await tab.selectOption("#column-static", "x1");
    await tab.selectOption("#unit-static", "hPa");
    await tab.click("#columns button");
    await tab.waitForFunction(() => Math.abs(window.chirrupTest.latest().length - 179.9) < 0.2);
    assert.equal(await tab.isVisible("#columns"), false);
    // Without an airspeed nothing is compensated, as in `chirrup replay`.
    await tab.waitForFunction(() =>
      !/compensated/i.test(document.getElementById("name-left").textContent.replace(/not comp/i, "")));
    await tab.selectOption("#pace", "16");
    const before = (await latest()).time;
    await tab.waitForFunction((time) => window.chirrupTest.latest().time > time + 60, before);
    await tab.waitForFunction(() => window.chirrupTest.latest().left.meaning === 1);
    assert.equal(await tab.locator("#climbs button").count(), 1);
  }));

test("a drill asks, times, scores and saves, by keys alone, and its number repeats it", () =>
  within({ acceptDownloads: true }, async (tab) => {
    const drill = async (kind, choice) => {
      await tab.check(`input[name=kind][value="${kind}"]`);
      await tab.fill("#wanted", "5");
      await tab.fill("#drill-seed", "42");
      await tab.focus("#drill-begin");
      await tab.keyboard.press("Enter");
      for (let question = 0; question < 5; question += 1) {
        await tab.waitForFunction(() =>
          document.getElementById("drill-says").textContent === "Listen.");
        assert.equal(await tab.textContent("#drill-number"), `Question ${question + 1} of 5`);
        await runOn(tab, 7.5);
        await tab.keyboard.press(choice);
        await tab.waitForFunction((pattern) =>
          new RegExp(pattern).test(document.getElementById("drill-says").textContent),
        choice === "0" ? "left blank" : "after \\d+\\.\\d\\d s");
        if (question < 4) await tab.keyboard.press(question % 2 ? "Enter" : "n");
      }
      await tab.waitForSelector("#drill-choose:not([hidden])");
      const [download] = await Promise.all([tab.waitForEvent("download"),
        tab.click("#drill-save")]);
      return readFileSync(await download.path(), "utf8");
    };
    const questions = (text) => text.trim().split("\n").slice(1).map((line) =>
      line.split(",").slice(1, 8));
    const [first, second] = [await drill(0, "3"), await drill(0, "4")];
    assert.match(first, /^number,kind,seed,cockpit_db,before_mps/);
    assert.deepEqual(questions(first), questions(second));
    const lines = first.trim().split("\n").slice(1).map((line) => line.split(","));
    assert.deepEqual(lines.map((fields) => fields[9]), lines.map((fields) =>
      (fields[7] === "weak climb" ? "1" : "0")));
    const fourth = questions(second).filter((fields) => fields[6] === "good climb").length;
    assert.match(await tab.textContent("#drill-says"),
      new RegExp(`${fourth} of 5 right, where guessing gets 1\\.0`));
    // A corner, and for each of five answers: five that were said, and none.
    assert.equal(await tab.locator("#drill-table td").count(), 31);
    assert.match(await drill(2, "0"), /,flights,42,/);
    assert.match(await tab.textContent("#drill-says"), /0 of 5 right.*5 left blank/);
    await drill(3, "1");
    assert.match(await tab.textContent("#drill-says"), /not known yet|no change is told/);
    const changes = questions(await drill(1, "1"));
    assert.ok(changes.every(([kind]) => kind === "changes"));
    await tab.click("#afresh");
    await tab.waitForFunction(() => window.chirrupTest.latest().time < 2);
  }));

test("pause stops the flight and go on takes it up", () =>
  within({}, async (tab) => {
    await tab.click("#start");
    await isPlaying(tab);
    await tab.click("#start");
    await tab.waitForFunction(() => document.getElementById("start").textContent === "Go on");
    const time = () => tab.evaluate(() => window.chirrupTest.latest().time);
    await tab.waitForTimeout(200);
    const paused = await time();
    await tab.waitForTimeout(400);
    assert.equal(await time(), paused);
    await tab.click("#start");
    await tab.waitForFunction((before) => window.chirrupTest.latest().time > before + 0.2, paused);
  }));

for (const colorScheme of ["light", "dark"]) {
  test(`axe finds no fault in the ${colorScheme} page, still, flying, with everything open`, () =>
    within({ colorScheme }, async (tab) => {
      // Inserted through the debugger, where the page's content policy does not apply.
      await tab.evaluate(axe);
      const check = async (when) => {
        const { violations } = await tab.evaluate(() => window.axe.run());
        assert.deepEqual(violations.map(({ id, nodes }) => [id, ...nodes.map(({ html }) => html)]),
          [], when);
      };
      await check("still");
      await tab.click("#start");
      await isPlaying(tab);
      await tab.click("#lessons li:nth-child(2) button");
      await tab.evaluate(() => document.querySelectorAll("details").forEach((details) => {
        details.open = true; }));
      await tab.waitForSelector("#ear-right:not([hidden])");
      await check("flying");
      await tab.click("#drill-begin");
      await tab.waitForFunction(() =>
        document.getElementById("drill-says").textContent === "Listen.");
      await check("asked");
      await runOn(tab, 8);
      await tab.keyboard.press("1");
      await tab.waitForSelector("#drill-score:not([hidden])");
      await check("answered");
    }));
}

test("whoever wants less motion gets a new picture twice a second", () =>
  within({ reducedMotion: "reduce" }, async (tab) => {
    await tab.click("#start");
    await isPlaying(tab);
    const before = await tab.evaluate(() => window.chirrupTest.pictures());
    await tab.waitForTimeout(2000);
    const drawn = (await tab.evaluate(() => window.chirrupTest.pictures())) - before;
    assert.ok(drawn >= 2 && drawn <= 5, `${drawn} pictures in two seconds`);
  }));

test("it fits screens of 390, 1280 and 1920 px and can be looked at", async () => {
  mkdirSync(`${folder}/dist/looks`, { recursive: true });
  for (const [width, height] of [[390, 844], [1280, 800], [1920, 1080]]) {
    for (const [lesson, seconds] of [[1, 30], [2, 28], [4, 60]]) {
      await within({ width, height }, async (tab) => {
        await tab.click(`#lessons li:nth-child(${lesson}) button`);
        await isPlaying(tab);
        await runOn(tab, seconds);
        await tab.waitForTimeout(500);
        assert.ok(await caption(tab));
        const over = await tab.evaluate(() =>
          document.documentElement.scrollWidth - document.documentElement.clientWidth);
        assert.equal(over, 0, `${width} px: ${over} px too wide`);
        await tab.screenshot({ path: `${folder}/dist/looks/${width}-lesson-${lesson}.png` });
      });
    }
  }
});

test("after breaks the flight goes on, as it is, with a longer latency, and that is told", () =>
  within({ before: () => {
    // The clock of the sound falls behind, as on a busy machine.
    window.chirrupTest = { lag: () => window.behind ?? 0 };
  } }, async (tab) => {
    await tab.click("#start");
    await isPlaying(tab);
    await tab.keyboard.press("ArrowUp");
    await tab.waitForTimeout(3000);
    assert.equal(await tab.evaluate(() => window.chirrupTest.hint()), "interactive");
    for (const hint of ["playback", 0.5]) {
      const before = await tab.evaluate(() => window.chirrupTest.latest());
      await tab.evaluate(() => { window.behind = (window.behind ?? 0) + 0.031; });
      await tab.waitForFunction((wanted) => window.chirrupTest.hint() === wanted, hint);
      await tab.waitForSelector("#notice:not([hidden])");
      await tab.waitForFunction((time) => window.chirrupTest.latest().time > time + 0.5,
        before.time);
      const now = await tab.evaluate(() => window.chirrupTest.latest());
      assert.ok(now.time < before.time + 6, `from ${before.time} to ${now.time} s`);
      assert.ok(Math.abs(now.height - before.height) < 20, "the same flight");
      assert.equal(now.controls[0], 0.5, "the same air");
      await tab.waitForTimeout(3000);
    }
  }));

test("no sound device is told at once", () =>
  within({ before: () => {
    // A context without a device never runs.
    AudioContext.prototype.resume = () => new Promise(() => {});
    Object.defineProperty(AudioContext.prototype, "state", { get: () => "suspended" });
  } }, async (tab) => {
    await tab.click("#start");
    await tab.waitForFunction(() => document.getElementById("caption").textContent ===
      window.chirrupTest.words().en["trouble.device"], null, { timeout: 5000 });
  }));

test("the sound check finds loudspeaker and volume, and gives the flight back", () =>
  within({}, async (tab) => {
    await tab.click("#check-open");
    await tab.waitForFunction(() => window.chirrupTest.heardNow("left").meaning === 2);
    const time = () => tab.evaluate(() => window.chirrupTest.latest().time);
    const before = await time();
    await tab.click("#check-kinds button >> nth=1");
    await tab.locator("#check-volume").fill("10");
    await tab.click("#check-next");
    await tab.waitForFunction(() => window.chirrupTest.heardNow("left").meaning === 1);
    await tab.click("#check-next");
    assert.equal(await time(), before, "the flight waits");
    await tab.click("#check-next");
    await tab.waitForFunction((from) => window.chirrupTest.latest().time > from + 0.3, before);
    const { controls } = await tab.evaluate(() => window.chirrupTest.latest());
    assert.deepEqual([controls[11], controls[14]], [10, 0]);
  }));
