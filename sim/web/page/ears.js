// Beside the picture, for each ear: what is heard at this moment, from the ticks that sounded; the
// reading, where it is valid; and what the instrument is, from its status.

const SOUND_KEYS = { [MEANING.climb]: "heard.beeps", [MEANING.sink]: "heard.tone",
  [MEANING.cruise]: "heard.pairs", [MEANING.fault]: "heard.call" };

const isMuted = (report) => report.controls[CONTROL.mute] === 1;
const hasTwo = (report) => report.controls[CONTROL.two] === 1;

/** The large words: the sound, or why there is none. */
function wordsForSound(sound, ear, report) {
  if (!context) return t("heard.preview");
  if (context.state !== "running") return t("heard.paused");
  if (SOUND_KEYS[sound.meaning]) return t(SOUND_KEYS[sound.meaning]);
  if (isMuted(report) || report.controls[CONTROL.volume] === 0) return t("heard.muted");
  if (drillSays || checkStep !== null) return t("heard.silence");
  return t(ear.good ? "heard.silence" : "heard.nothing");
}

/** The kind of instrument by its status: no word of compensation where there is none. */
function nameOfInstrument(ear) {
  const status = choices.statuses[ear.status];
  if (status === "no_compensation") return t("name.no.airspeed");
  if (status === "check_tubes") return t("name.tubes");
  if (DOUBTS[status]) return t(`name.${DOUBTS[status]}`);
  if (!ear.good) return t("name.unknown");
  return t({ [ENERGY.electronic]: "name.compensated", [ENERGY.probe]: "name.probe" }[ear.energy] ??
    "name.bare");
}

function tellEar(side, ear, report, name) {
  const sound = soundNow(side);
  set(by(`name-${side}`), `${name}: ${nameOfInstrument(ear)}`);
  set(by(`word-${side}`), wordsForSound(sound, ear, report));
  // A beep sounds to its end while a newer reading may already be of the other kind.
  const isBehind = (sound.meaning === MEANING.climb && ear.reading < -0.05) ||
    (sound.meaning === MEANING.sink && ear.reading > 0.05);
  const isOfFlight = context && ear.good && !isBehind && !drillSays && checkStep === null;
  set(by(`number-${side}`), isOfFlight ? `${signed(ear.reading, 1)} m/s` : "");
  if (!context) sound.meaning = MEANING.nothing;
  set(by(`tone-${side}`), sound.meaning === MEANING.nothing ? " " : tone(sound));
  by(`ear-${side}`).dataset.sounds = sound.meaning;
}

function tone({ meaning, pitch, cadence }) {
  const hertz = t("tone.pitch", { pitch: number(pitch, 0) });
  return meaning === MEANING.climb && cadence > 0
    ? t("tone.beeps", { cadence: number(cadence, 1), pitch: hertz }) : hertz;
}

const set = (element, text) => {
  if (element.textContent !== text) element.textContent = text;
};

function tell(report) {
  const two = hasTwo(report);
  tellEar("left", report.left, report, t(two ? "ear.left" : "ear.both"));
  if (two) tellEar("right", report.right, report, t("ear.right"));
  by("ear-right").hidden = !two;
  set(by("height"), `${number(report.height, 0)} m`);
  set(by("airspeed"), report.speed > 0.5 ? `${number(report.speed * 3.6, 0)} km/h` : "–");
  set(by("rise"), Math.abs(report.air) < CALM_MPS ? t("still") : `${signed(report.air, 1)} m/s`);
  if (report.length > 0) showSeek(report);
}

function readOut() {
  if (!latest) return;
  const { left, right, height, speed } = latest;
  const ear = (name, side, shown) => t("read.ear", { name,
    sound: wordsForSound(soundNow(side), shown, latest),
    reading: shown.good ? t("read.reading", { reading: signed(shown.reading, 1) })
      : t("read.nothing") });
  const ears = hasTwo(latest)
    ? `${ear(t("ear.left"), "left", left)} ${ear(t("ear.right"), "right", right)}`
    : ear(t("ear.both"), "left", left);
  const rest = t("read.flight", { height: number(height, 0), speed: number(speed * 3.6, 0) });
  by("read-out").textContent = `${ears} ${rest}`;
}
