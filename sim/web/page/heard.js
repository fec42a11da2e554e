// What has sounded: pitch and meaning of every control tick, as the audio thread hands it out. The
// strip and the words for what is heard now come from nothing else.

const TICKS_A_SECOND = 500;
const TICKS_KEPT = 45 * TICKS_A_SECOND;
// The longest pause inside one sound, in ticks: between slow beeps 0.5 s, between the notes of the
// fault call 0.12 s. After a longer one it is silent.
const PAUSE = { 1: 300, 2: 30, 3: 450, 4: 90 };

const newEar = () => ({ pitch: new Float32Array(TICKS_KEPT), meaning: new Uint8Array(TICKS_KEPT),
  last: { meaning: 0, tick: -1e9, pitch: 0 }, begun: [] });
const heard = { ticks: 0, left: newEar(), right: newEar() };

function forgetNotes() {
  Object.assign(heard, { ticks: 0, left: newEar(), right: newEar() });
}

/** Takes four numbers a tick: pitch (0 in silence) and meaning of the left and the right ear. */
function hearNotes(numbers) {
  for (let place = 0; place + 3 < numbers.length; place += 4) {
    hearTick(heard.left, numbers[place], numbers[place + 1]);
    hearTick(heard.right, numbers[place + 2], numbers[place + 3]);
    heard.ticks += 1;
  }
}

function hearTick(ear, pitch, meaning) {
  const { ticks } = heard;
  ear.pitch[ticks % TICKS_KEPT] = pitch;
  ear.meaning[ticks % TICKS_KEPT] = meaning;
  if (pitch === 0) return;
  const isNew = ear.last.tick < ticks - 1;
  if (isNew) ear.begun = [ticks, ...ear.begun.slice(0, 3)];
  ear.last = { meaning, tick: ticks, pitch };
}

/** What an ear hears now: a pause between two beeps belongs to the beeps. */
function soundNow(side) {
  const { last, begun } = heard[side];
  if (heard.ticks - 1 - last.tick > (PAUSE[last.meaning] ?? 0)) 
    return { meaning: MEANING.nothing, pitch: 0, cadence: 0 };
  const apart = begun.length > 1 ? begun[0] - begun[1] : 0;
  const cadence = apart > 0 && apart < 750 ? TICKS_A_SECOND / apart : 0;
  return { meaning: last.meaning, pitch: last.pitch, cadence };
}
