// Sound: the WebAssembly, the audio thread it runs in, and messages to it.

const SEED = 1;

const coreBytes = unpacked(CORE);

/** An instrument in an audio context, live or offline; extra goes into its processor's options. */
async function instrumentIn(context, extra = {}) {
  // When the page is opened from a file, Chromium accepts a worklet only from a data URL.
  const url = `data:text/javascript;charset=utf-8,${encodeURIComponent(WORKLET)}`;
  await context.audioWorklet.addModule(url);
  const bytes = await coreBytes;
  const node = new AudioWorkletNode(context, "instrument", {
    numberOfInputs: 0,
    outputChannelCount: [2],
    processorOptions: { bytes, seed: SEED, ...extra },
  });
  node.connect(context.destination);
  return node;
}

/** What there is to choose, as src/describe.rs writes it. */
async function described() {
  const { instance } = await WebAssembly.instantiate(await coreBytes, {});
  const core = instance.exports;
  core.describe();
  const bytes = new Uint8Array(core.memory.buffer, core.text(), core.text_bytes());
  const text = new TextDecoder().decode(bytes);
  const records = text.trim().split("\n").map((line) => line.split("\t"));
  const of = (kind) => records.filter(([first]) => first === kind);
  const lessons = of("lesson").map(([, , key, title, question, seconds]) => ({
    key, title, question, seconds: Number(seconds), cues: [] }));
  for (const [, lesson, , at, caption] of of("cue"))
    lessons[lesson].cues.push({ at: Number(at), caption });
  const controls = of("control").map(([, , min, max, step, value]) => ({
    min, max, step, value: Number(value) }));
  const kinds = of("kind").map(([, , key, wanted, question, ...answers]) => ({
    key, wanted, question, answers }));
  return { lessons, controls, kinds, statuses: of("status").map(([, , name]) => name) };
}
