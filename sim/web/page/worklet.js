// The instrument, running in the audio thread: WebAssembly computes every sample, messages turn its
// controls.
//
// processorOptions: bytes (the WebAssembly), seed or memory (that of an instrument to go on with),
// and for tests script (calls due at frames) and capture (send every frame out).

const FRAMES_A_REPORT = 512;

class Instrument extends AudioWorkletProcessor {
  constructor({ processorOptions: { bytes, seed, memory, script = [], capture = false } }) {
    super();
    this.core = new WebAssembly.Instance(new WebAssembly.Module(bytes), {}).exports;
    if (memory) this.goOnFrom(memory);
    else this.core.start(sampleRate, seed);
    Object.assign(this, { script, capture, frames: 0, reported: 0 });
    this.port.onmessage = ({ data }) => this.take(data);
  }

  /** All that an instrument remembers is in its memory. */
  goOnFrom(memory) {
    const { memory: own } = this.core;
    const missing = memory.byteLength - own.buffer.byteLength;
    if (missing > 0) own.grow(missing / 65536);
    new Uint8Array(own.buffer).set(new Uint8Array(memory));
  }

  /** Hands the memory over, and is silent from then on. */
  handOver() {
    this.gone = true;
    const memory = this.core.memory.buffer.slice(0);
    this.port.postMessage({ memory }, [memory]);
  }

  take({ call, values = [], file, text, mark, asks }) {
    if (call === "load") this.load(file);
    else if (call === "columns") this.columns(file, asks);
    else if (call === "nameColumns") this.core.name_columns(this.put([text]));
    else if (call === "runOn") this.runOn(...values);
    else if (call === "handOver") this.handOver();
    else {
      const value = this.core[call](...values);
      if (asks) this.port.postMessage({ asks, value, text: this.text() });
    }
    if (mark) this.port.postMessage({ taken: mark, frame: currentFrame });
  }

  /** For tests: so many seconds at once, unheard. */
  runOn(seconds) {
    for (let left = Math.round(seconds * sampleRate); left > 0; left -= FRAMES_A_REPORT) {
      const count = Math.min(left, FRAMES_A_REPORT);
      this.fill(count);
      this.report();
    }
  }

  load({ name, bytes }) {
    const title = new Uint8Array(name);
    const good = this.core.load(title.length, this.put([title, new Uint8Array(bytes)])) === 1;
    this.port.postMessage({ loaded: good, text: this.text() });
  }

  /** The names of a file's columns. */
  columns({ name, bytes }, asks) {
    const title = new Uint8Array(name);
    this.core.columns(title.length, this.put([title, new Uint8Array(bytes)]));
    this.port.postMessage({ asks, text: this.text() });
  }

  /** Puts bytes into the instrument's buffer, one part after the other; how many there are. */
  put(parts) {
    const all = parts.reduce((sum, part) => sum + part.length, 0);
    // Allocate first: growing the memory may move it.
    const room = this.core.room(all);
    const view = new Uint8Array(this.core.memory.buffer, room, all);
    let at = 0;
    for (const part of parts) {
      view.set(part, at);
      at += part.length;
    }
    return all;
  }

  /** The last text, in UTF-8: there is no decoder in an audio thread. */
  text() {
    const { memory, text, text_bytes: bytes } = this.core;
    return new Uint8Array(memory.buffer, text(), bytes()).slice();
  }

  /** The next frames of sound, left and right interleaved. */
  fill(count) {
    const address = this.core.fill(count);
    const samples = new Int16Array(this.core.memory.buffer, address, 2 * count);
    if (this.capture) this.port.postMessage({ samples: samples.slice() });
    return samples;
  }

  process(_inputs, [[left, right]]) {
    if (this.gone) return false;
    while (this.script.length && this.script[0].frame <= this.frames)
      this.take(this.script.shift());
    const count = left.length;
    const samples = this.fill(count);
    for (let place = 0; place < count; place += 1) {
      left[place] = samples[2 * place] / 32768;
      right[place] = samples[2 * place + 1] / 32768;
    }
    this.frames += count;
    if (this.frames - this.reported >= FRAMES_A_REPORT) this.report();
    return true;
  }

  report() {
    this.reported = this.frames;
    const address = this.core.report();
    const report = new Float64Array(this.core.memory.buffer, address, REPORT_LENGTH).slice();
    const start = this.core.notes();
    const notes = new Float32Array(this.core.memory.buffer, start, this.core.note_count()).slice();
    this.port.postMessage({ report, notes, frame: currentFrame });
    const count = this.core.hunt_length();
    if (count === 0) return;
    const hunting = this.core.hunt_report();
    this.port.postMessage({ hunting: new Float64Array(this.core.memory.buffer, hunting,
      count).slice() });
  }
}

registerProcessor("instrument", Instrument);
