// For the tests: runs a script of calls in an offline audio context of this page; returns the
// samples as base64.

const inBase64 = (samples) => {
  const bytes = new Uint8Array(samples.buffer);
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
  runOn: (seconds) => send({ call: "runOn", values: [seconds] }),
  // Milliseconds to draw a picture, and pictures a second on this machine.
  async pace() {
    const frame = () => new Promise(requestAnimationFrame);
    const begun = performance.now();
    for (let count = 0; count < 60; count += 1) await frame();
    const perSecond = 60_000 / (performance.now() - begun);
    const before = performance.now();
    for (let count = 0; count < 100; count += 1) {
      drawSky(by("sky"), latest);
      drawScore(by("score"), latest, true);
      tell(latest);
    }
    return { each: (performance.now() - before) / 100, perSecond };
  },
  latest: () => latest,
  pictures: () => pictures,
};
