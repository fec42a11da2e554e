// The instrument, ticking in the audio thread: WebAssembly makes every sample, messages turn its controls.
//
// processorOptions: bytes (the WebAssembly), seed, and for tests script (calls due at frames) and capture (hand every frame out).

const FRAMES_A_REPORT = 512;

class Instrument extends AudioWorkletProcessor {
  constructor({ processorOptions: { bytes, seed, script = [], capture = false } }) {
    super();
    this.core = new WebAssembly.Instance(new WebAssembly.Module(bytes), {}).exports;
    this.core.start(sampleRate, seed);
    Object.assign(this, { script, capture, frames: 0, reported: 0 });
    this.port.onmessage = ({ data }) => this.take(data);
  }

  take({ call, values = [], file, mark }) {
    if (call === "load") this.load(file);
    else this.core[call](...values);
    if (mark) this.port.postMessage({ taken: mark, frame: this.frames });
  }

  load({ name, bytes }) {
    const title = new Uint8Array(name);
    const all = title.length + bytes.byteLength;
    const room = new Uint8Array(this.core.memory.buffer, this.core.room(all), 0).byteOffset;
    const view = new Uint8Array(this.core.memory.buffer, room, all);
    view.set(title);
    view.set(new Uint8Array(bytes), title.length);
    const good = this.core.load(title.length, all) === 1;
    const text = new Uint8Array(this.core.memory.buffer, this.core.text(), this.core.text_bytes()).slice();
    this.port.postMessage({ loaded: good, text });
  }

  process(_inputs, [[left, right]]) {
    while (this.script.length && this.script[0].frame <= this.frames) this.take(this.script.shift());
    const count = left.length;
    const samples = new Int16Array(this.core.memory.buffer, this.core.fill(count), 2 * count);
    for (let place = 0; place < count; place += 1) {
      left[place] = samples[2 * place] / 32768;
      right[place] = samples[2 * place + 1] / 32768;
    }
    this.frames += count;
    if (this.capture) this.port.postMessage({ samples: samples.slice() });
    if (this.frames - this.reported >= FRAMES_A_REPORT) this.report();
    return true;
  }

  report() {
    this.reported = this.frames;
    const address = this.core.report();
    this.port.postMessage({ report: new Float64Array(this.core.memory.buffer, address, REPORT_LENGTH).slice() });
  }
}

registerProcessor("instrument", Instrument);
