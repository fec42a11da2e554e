// The player in the audio thread: WebAssembly makes every sample, messages move it.

const FRAMES_A_REPORT = 1024;

class Player extends AudioWorkletProcessor {
  constructor({ processorOptions: { bytes, recording, capture = false } }) {
    super();
    this.core = new WebAssembly.Instance(new WebAssembly.Module(bytes), {}).exports;
    // Allocate first: growing the memory may move it.
    const { settings, all } = recording;
    const room = this.core.room(all.byteLength);
    new Uint8Array(this.core.memory.buffer, room, all.byteLength).set(new Uint8Array(all));
    const good = this.core.load(sampleRate, settings, all.byteLength) === 1;
    Object.assign(this, { good, capture, plays: false, frames: 0 });
    this.port.onmessage = ({ data: { call, values = [] } }) => {
      if (call === "play") [this.plays] = values;
      else this.core[call](...values);
      this.report();
    };
    this.port.postMessage({ loaded: good });
  }

  report() {
    const { core, plays } = this;
    this.port.postMessage({ time: core.time(), ended: core.ended() === 1, plays });
  }

  process(_inputs, [[out]]) {
    if (!this.plays || !this.good) return true;
    const address = this.core.fill(out.length);
    const samples = new Int16Array(this.core.memory.buffer, address, out.length);
    for (let place = 0; place < out.length; place += 1) out[place] = samples[place] / 32768;
    if (this.capture) this.port.postMessage({ samples: samples.slice() });
    this.frames += out.length;
    if (this.frames % FRAMES_A_REPORT === 0) this.report();
    return true;
  }
}

registerProcessor("player", Player);
