// Sound: the WebAssembly, the recording, the audio thread they run in.

async function unpacked(text) {
  const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(stream).arrayBuffer();
}

const textOf = (element) => element.textContent.trim();
const coreBytes = unpacked(textOf(document.getElementById("core")));

/** The recording of a flight: settings and samples behind one another, and where they part. */
async function recordingOf(element) {
  const bytes = await unpacked(textOf(element));
  return { settings: new DataView(bytes).getUint32(0, true), all: bytes.slice(4) };
}

/** A point a sample: time, height, vertical speed, its average; from the same core. */
async function pointsOf({ settings, all }) {
  const { instance } = await WebAssembly.instantiate(await coreBytes, {});
  const core = instance.exports;
  const room = core.room(all.byteLength);
  new Uint8Array(core.memory.buffer, room, all.byteLength).set(new Uint8Array(all));
  if (core.load(24_000, settings, all.byteLength) !== 1) throw new Error("unreadable");
  const address = core.points();
  return new Float32Array(core.memory.buffer, address, 4 * core.point_count()).slice();
}

/** A player in an audio context; options of a test go into its processor. */
async function playerIn(context, recording, extra = {}) {
  // When the page is opened from a file, Chromium accepts a worklet only from a data URL.
  const url = `data:text/javascript;charset=utf-8,${encodeURIComponent(WORKLET)}`;
  await context.audioWorklet.addModule(url);
  const bytes = await coreBytes;
  const node = new AudioWorkletNode(context, "player", { numberOfInputs: 0,
    outputChannelCount: [1], processorOptions: { bytes, recording, ...extra } });
  const gain = context.createGain();
  node.connect(gain).connect(context.destination);
  const call = (name, ...values) => node.port.postMessage({ call: name, values });
  return { node, gain, call };
}
