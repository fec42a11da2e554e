// The path flown in the last seconds, with what was heard on it, and how far the air has gone by.

const PATH_S = 40;
const history = [];
const gone = { along: 0, up: 0, middle: 0, time: null, circling: 0 };

function forgetPath() {
  history.length = 0;
}

function remember(report) {
  const last = history[history.length - 1];
  // A new flight, or a jump in the trace.
  if (last && (report.time < last.time || report.time > last.time + 2)) history.length = 0;
  const { time, height, air, heading, radius, offset, bank } = report;
  const sound = heard.left.meaning[(heard.ticks - 1 + TICKS_KEPT) % TICKS_KEPT];
  const sounds = heard.ticks > 0 && heard.left.pitch[(heard.ticks - 1) % TICKS_KEPT] > 0;
  history.push({ time, height, air, heading, radius, offset, bank, sound: sounds ? sound : 0 });
  while (history[0].time < time - PATH_S) history.shift();
}

/** Moves the scene on to a report. */
function follow(now) {
  const since = gone.time === null ? Infinity : now.time - gone.time;
  const jumps = !(since >= 0 && since < 1);
  // After a jump in time the picture jumps too.
  if (jumps) gone.middle = now.height;
  const dt = jumps ? 0 : Math.min(since, 0.2);
  gone.middle += (now.height - gone.middle) * (still.matches ? 1 : 1 - Math.exp(-dt / 1.5));
  gone.along += now.speed * dt;
  gone.up += now.air * dt;
  gone.time = now.time;
  const wanted = now.radius > 0 && now.bank > 0.12 ? 1 : 0;
  const step = still.matches || jumps ? 1 : dt / 1.6;
  gone.circling += Math.min(Math.max(wanted - gone.circling, -step), step);
}
