// The fields of a report, in the order of src/report.rs.

const OF_ALL = ["time", "length", "height", "speed", "air", "path", "bank", "heading", "radius",
  "offset", "lesson", "caption", "restarts"];
const OF_ONE = ["reading", "good", "pitch", "cadence", "sounding", "meaning", "status", "energy"];
const CONTROLS = ["air", "speed", "bank", "thermal", "offset", "energy", "filter", "response",
  "noise", "fault", "two", "volume", "mute", "cockpit", "speaker"];
const CONTROL = Object.fromEntries(CONTROLS.map((name, place) => [name, place]));
const REPORT_LENGTH = OF_ALL.length + 2 * OF_ONE.length + CONTROLS.length;
const MEANING = { nothing: 0, climb: 1, sink: 2, cruise: 3, fault: 4 };
const ENERGY = { none: 0, electronic: 1, probe: 2 };

const named = (names, numbers, from) =>
  Object.fromEntries(names.map((name, place) => [name, numbers[from + place]]));

function reportOf(numbers) {
  const left = OF_ALL.length;
  const right = left + OF_ONE.length;
  return {
    ...named(OF_ALL, numbers, 0),
    left: named(OF_ONE, numbers, left),
    right: named(OF_ONE, numbers, right),
    controls: [...numbers.slice(right + OF_ONE.length)],
  };
}
