// For the tests of "Find the core": a script of calls in an offline audio context; returns the
// samples as base64 and what the audio thread answers to the calls that ask.

window.chirrupTest = {
  ...window.chirrupTest,
  hunt: () => hunt,
  async renderAnswers({ rate, seed, frames, script }) {
    const offline = new OfflineAudioContext(2, frames, rate);
    const node = await instrumentIn(offline, { seed, script });
    const answers = [];
    node.port.onmessage = ({ data }) =>
      data.asks && answers.push(new TextDecoder().decode(data.text));
    const buffer = await offline.startRendering();
    const sound = new Int16Array(2 * frames);
    [0, 1].forEach((ear) => buffer.getChannelData(ear).forEach((value, place) => {
      sound[2 * place + ear] = value * 32768;
    }));
    while (answers.length < script.filter(({ asks }) => asks).length)
      await new Promise((done) => setTimeout(done, 50));
    return { sound: inBase64(sound), answers };
  },
};
