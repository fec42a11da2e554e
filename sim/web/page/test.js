// For the tests: runs a script of calls in an offline audio context of this page; returns the
// samples as base64.

const inBase64 = (samples) => {
  const bytes = new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
  let text = "";
  for (let place = 0; place < bytes.length; place += 32768)
    text += String.fromCharCode(...bytes.subarray(place, place + 32768));
  return btoa(text);
};

window.chirrupTest = {
  ...window.chirrupTest,
  async render({ rate, seed, frames, script }) {
    const offline = new OfflineAudioContext(2, frames, rate);
    await instrumentIn(offline, { seed, script });
    const buffer = await offline.startRendering();
    const [left, right] = [buffer.getChannelData(0), buffer.getChannelData(1)];
    const samples = new Int16Array(2 * frames);
    left.forEach((value, place) => {
      samples[2 * place] = value * 32768;
      samples[2 * place + 1] = right[place] * 32768;
    });
    return inBase64(samples);
  },
  rate: () => context.sampleRate,
  now: () => context.currentTime,
  // The audio thread answers with the frame at which it processed this message; all earlier
  // messages have then been processed.
  markNext: () => send({ call: "report", mark: 1 }),
  choices: () => choices,
  // Fast-forwards the instrument without sound, and shows its reports on the way.
  runOn(seconds) {
    isJudged = false;
    send({ call: "runOn", values: [seconds] });
  },
  // Milliseconds to draw a picture, and pictures a second on this machine.
  async pace() {
    const frame = () => new Promise(requestAnimationFrame);
    const begun = performance.now();
    for (let count = 0; count < 60; count += 1) await frame();
    const perSecond = 60_000 / (performance.now() - begun);
    const before = performance.now();
    for (let count = 0; count < 100; count += 1) {
      drawSky(by("sky"), latest);
      drawStrip(by("score"), true);
      tell(latest);
    }
    return { each: (performance.now() - before) / 100, perSecond };
  },
  // The strip drawn anew: where it lies, its scale, and the ticks and frames shown.
  strip() {
    showHeard(Infinity);
    const two = hasTwo(latest);
    drawStrip(by("score"), two);
    const canvas = by("score");
    const { data, width, height } = canvas.getContext("2d").getImageData(0, 0, canvas.width,
      canvas.height);
    return { ticks: heard.ticks, seconds: STRIP_S, hertz: STRIP_HZ, ratio: devicePixelRatio || 1,
      places: stripPlaces(canvas.getContext("2d"), canvas.clientWidth, canvas.clientHeight,
        two ? 2 : 1), width, height,
      colours: { climb: colours.climb, sink: colours.sink, fault: colours.fault },
      pixels: inBase64(data) };
  },
  // Once every report so far is in: what the page says of each ear, with its status.
  async told() {
    await ask("report");
    showHeard(Infinity);
    tell(latest);
    showCaption();
    const of = (side) => ({ status: choices.statuses[latest[side].status], good: latest[side].good,
      text: by(`ear-${side}`).innerText, sounds: soundNow(side).meaning });
    return { left: of("left"), right: of("right"), stage: document.querySelector(".stage").innerText,
      caption: by("caption").textContent, two: hasTwo(latest), length: latest.length };
  },
  async ran(seconds) {
    window.chirrupTest.runOn(seconds);
    await ask("report");
  },
  heardNow: (side) => soundNow(side),
  inBase64,
  turn: (control, value) => turn(control, value),
  words: () => words,
  moveToLonger: () => moveToLonger(),
  hint: () => LATENCIES[latency],
  unshown: () => unshown.length,
  latest: () => latest,
  pictures: () => pictures,
};
