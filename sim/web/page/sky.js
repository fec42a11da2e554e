// The moving picture. Straight on: the glider from behind its side, and its height over the last
// 40 s, in the colours of what was heard. Circling: from above, round the thermal, with the spiral
// of the climb.

const METRES_HIGH = 150;
const GROUND_M = 100;
// The directions of view: straight on relative to the course, in circles fixed.
const BESIDE = { azimuth: -0.78, elevation: 0.3 };
const ABOVE = { azimuth: -Math.PI / 2, elevation: 0.5 };
const ANGLE_OF_ATTACK = 0.03;
// A wider turn is not yet a circle.
const WIDEST_M = 180;
const PATH_COLOURS = { 0: "quiet", 1: "climb", 2: "sink", 3: "climb", 4: "fault" };

function drawSky(canvas, now) {
  const { pen, width, height } = fresh(canvas);
  follow(now);
  const circling = smooth(gone.circling);
  const scene = { pen, width, height, now, circling, straight: straightPlace(width, height, now),
    round: roundPlace(width, height, now) };
  const along = still.matches ? 0 : gone.along;
  const low = Math.min(Math.max((now.height - GROUND_M) / 900, 0), 1);
  const horizon = height * mix(0.86, 0.7, low);
  drawBackdrop(pen, width, height, horizon, along, 1 - low);
  const at = { x: mix(scene.straight.at.x, scene.round.at.x, circling),
    y: mix(scene.straight.at.y, scene.round.at.y, circling) };
  if (circling < 1) drawStraight(scene, 1 - circling);
  if (circling > 0) drawRound(scene, circling, at);
  else drawTheGlider(scene, at);
  drawHeights(scene, 1 - circling);
  if (circling > 0.5) drawFromAbove(pen, now, width, Math.min(height * 0.36, width * 0.26));
}

const smooth = (share) => share * share * (3 - 2 * share);

function straightPlace(width, height, now) {
  const scale = height / METRES_HIGH;
  const { along, down } = placeBeside(width, height);
  const y = (metres) => height * down - (metres - gone.middle) * scale;
  const at = { x: width * along, y: Math.min(Math.max(y(now.height), 40), height - 40) };
  return { y, at, x: (time) => at.x - ((now.time - time) * at.x) / PATH_S };
}

/** Where the glider flies, as shares of the picture: before Start beside the words over it. */
function placeBeside(width, height) {
  if (context) return { along: 0.62, down: 0.56, size: 1 };
  if (width < 480) return { along: 0.5, down: 0.2, size: 1 };
  return height < 260 ? { along: 0.88, down: 0.5, size: 0.55 } : { along: 0.7, down: 0.5, size: 1 };
}

/** The circle seen from above, its thermal beside it; `of` places a point of the path. */
function roundPlace(width, height, now) {
  const scale = Math.min(width * 0.2, height * 0.36) / 90;
  const flat = Math.sin(ABOVE.elevation);
  const middle = { x: width * (context ? 0.52 : placeBeside(width, height).along),
    y: height * (context ? 0.6 : placeBeside(width, height).down) };
  const of = ({ heading, radius, offset, height: up }) => ({
    x: middle.x + (offset / 2 + radius * Math.cos(heading)) * scale,
    y: middle.y + radius * Math.sin(heading) * scale * flat -
      (up - now.height) * scale * Math.cos(ABOVE.elevation) });
  const at = now.radius > 0 ? of(now) : middle;
  return { of, at, scale, flat, core: { x: middle.x - (now.offset / 2) * scale, y: middle.y } };
}

function drawTheGlider({ pen, width, height, now, circling }, at) {
  // Seen from the fixed view, the course of a circling glider goes round.
  const round = -Math.PI - now.heading;
  const turns = Math.round((BESIDE.azimuth - round) / (2 * Math.PI));
  const view = camera(mix(BESIDE.azimuth, round + 2 * Math.PI * turns, circling),
    mix(BESIDE.elevation, ABOVE.elevation, circling));
  const axes = attitude(0, now.path + ANGLE_OF_ATTACK, now.bank);
  const size = Math.min(Math.max(width, 300) * 0.03, height * 0.085, 46);
  drawGlider(pen, at, size * mix(placeBeside(width, height).size, 0.5, circling), axes, view);
}

// --- straight on ---

function drawStraight(scene, share) {
  const { pen } = scene;
  pen.save();
  pen.globalAlpha = share;
  drawGround(scene);
  drawAir(scene);
  drawPath(pen, history.filter(({ time }) => Math.round(time * 50) % 4 === 0),
    ({ time, height }) => ({ x: scene.straight.x(time), y: scene.straight.y(height) }));
  pen.restore();
}

/** The airfield, when it is near. */
function drawGround({ pen, width, height, straight: { y } }) {
  const ground = y(GROUND_M) + 14;
  if (ground >= height) return;
  pen.fillStyle = colours.ground;
  pen.fillRect(0, ground, width, height - ground);
  line(pen, 0, ground, width, ground, colours.groundLine, 3);
}

/** A path in the colours of its sounds: beeps are dashes, sink is a line, silence is thin. */
function drawPath(pen, points, placeOf) {
  pen.lineJoin = "round";
  for (let place = 0; place + 1 < points.length;) {
    const { sound } = points[place];
    pen.strokeStyle = colours[PATH_COLOURS[sound]];
    pen.lineWidth = sound ? 6 : 2.5;
    pen.beginPath();
    let { x, y } = placeOf(points[place]);
    pen.moveTo(x, y);
    do {
      place += 1;
      ({ x, y } = placeOf(points[place]));
      pen.lineTo(x, y);
    } while (place + 1 < points.length && points[place].sound === sound);
    pen.stroke();
  }
}

/** Arrows that drift with the air: up in rising air, longer for faster air, dots in still air. */
function drawAir(scene) {
  const { width, height } = scene;
  const apart = Math.max(60, width / 14);
  const up = still.matches ? 0 : (gone.up * height) / METRES_HIGH;
  const shift = (still.matches ? 0 : gone.along * 3) / apart;
  const firstColumn = Math.floor(shift);
  for (let column = firstColumn - 1; column <= firstColumn + width / apart + 1; column += 1) {
    const x = (column - shift) * apart;
    const air = airAt(scene, x);
    const firstRow = Math.floor(up / apart);
    for (let row = firstRow - 1; row <= firstRow + height / apart + 1; row += 1) {
      const jitter = 0.5 + 0.5 * Math.sin(column * 12.9898 + row * 78.233);
      const y = height - (row - up / apart) * apart - ((column & 1) * 0.5 + 0.3 * jitter) * apart;
      arrow(scene.pen, x + 0.3 * jitter * apart, y, air);
    }
  }
}

/** What the air did when the glider was there; ahead of it what it does now. */
function airAt({ now, straight }, x) {
  if (x >= straight.at.x) return now.air;
  for (let place = history.length - 1; place >= 0; place -= 6) {
    if (straight.x(history[place].time) <= x) return history[place].air;
  }
  return 0;
}

function arrow(pen, x, y, air) {
  const length = Math.min(Math.abs(air) * 9, 56);
  if (length < 4) {
    pen.fillStyle = colours.airStill;
    pen.beginPath();
    pen.arc(x, y, 2, 0, 2 * Math.PI);
    pen.fill();
    return;
  }
  const up = air > 0 ? -1 : 1;
  const tip = y + (up * length) / 2;
  pen.strokeStyle = air > 0 ? colours.airUp : colours.airDown;
  pen.lineWidth = 3;
  pen.beginPath();
  pen.moveTo(x, y - (up * length) / 2);
  pen.lineTo(x, tip);
  pen.moveTo(x - 6, tip - up * 8);
  pen.lineTo(x, tip);
  pen.lineTo(x + 6, tip - up * 8);
  pen.stroke();
}

function drawHeights({ pen, width, straight: { y }, height }, share) {
  if (share === 0) return;
  pen.save();
  pen.globalAlpha = share;
  pen.textAlign = "right";
  const first = Math.ceil((gone.middle - METRES_HIGH / 2) / 25) * 25;
  for (let metres = first; metres < gone.middle + METRES_HIGH / 2; metres += 25) {
    const long = metres % 50 === 0;
    if (y(metres) < fontSize() * 1.5 || y(metres) > height - 6) continue;
    line(pen, width - (long ? 16 : 9), y(metres), width, y(metres), colours.ink, long ? 2 : 1);
    if (!long) continue;
    pen.lineWidth = 4;
    pen.strokeStyle = colours.halo;
    pen.strokeText(`${metres} m`, width - 20, y(metres) + fontSize() / 3);
    pen.fillStyle = colours.ink;
    pen.fillText(`${metres} m`, width - 20, y(metres) + fontSize() / 3);
  }
  pen.restore();
}

// --- circling ---

function drawRound(scene, share, at) {
  const { pen, now, round } = scene;
  pen.save();
  pen.globalAlpha = share;
  if (now.controls[CONTROL.thermal] > 0) drawThermal(scene);
  const points = history.filter(({ time, radius }) =>
    radius > 0 && radius < WIDEST_M && Math.round(time * 50) % 8 === 0);
  drawPath(pen, points, round.of);
  drawStalk(scene, at);
  pen.restore();
  drawTheGlider(scene, at);
}

/** From the glider down to the plane of its circle far below: shows where it is. */
function drawStalk({ pen, round, now }, at) {
  const { core, scale, flat } = round;
  pen.strokeStyle = colours.quiet;
  pen.lineWidth = 1.5;
  pen.setLineDash([3, 6]);
  pen.beginPath();
  pen.ellipse(core.x + now.offset * scale, core.y, Math.max(now.radius, 1) * scale,
    Math.max(now.radius, 1) * scale * flat, 0, 0, 2 * Math.PI);
  pen.stroke();
  pen.setLineDash([]);
  pen.fillStyle = colours.quiet;
  pen.beginPath();
  pen.arc(at.x, at.y, 3, 0, 2 * Math.PI);
  pen.fill();
}

/** The thermal: a soft column under its cumulus, with arrows that rise in it. */
function drawThermal({ pen, height, now, round: { core, scale, flat } }) {
  const wide = 85 * scale;
  const glow = pen.createLinearGradient(core.x - wide, 0, core.x + wide, 0);
  glow.addColorStop(0, colours.thermalEdge);
  glow.addColorStop(0.5, colours.thermal);
  glow.addColorStop(1, colours.thermalEdge);
  pen.fillStyle = glow;
  pen.fillRect(core.x - wide, height * 0.1, 2 * wide, height * 0.8);
  drawCloud(pen, core.x, height * 0.15, wide * 0.55, 2);
  const strength = now.controls[CONTROL.thermal];
  const up = still.matches ? 0 : now.time * strength * 7;
  for (let place = 0; place < 14; place += 1) {
    // Spread evenly by the golden angle, weaker outside.
    const angle = place * 2.39996;
    const distance = 110 * Math.sqrt((place + 0.5) / 14);
    const tall = height * 0.72;
    const rise = ((((place * 0.618 * tall + up) % tall) + tall) % tall);
    arrow(pen, core.x + distance * Math.cos(angle) * scale,
      height * 0.9 - rise + distance * Math.sin(angle) * scale * flat * 0.4,
      strength * Math.exp(-((distance / 120) ** 2)));
  }
}

/** The circle and the thermal on a map. */
function drawFromAbove(pen, { radius, offset, heading }, width, size) {
  const middle = { x: width - 12 - size / 2, y: 12 + size / 2 };
  const scale = size / 2 / 210;
  pen.save();
  pen.fillStyle = colours.paper;
  pen.strokeStyle = colours.line;
  pen.lineWidth = 1.5;
  disc(pen, middle, size / 2);
  pen.fill();
  pen.stroke();
  pen.clip();
  pen.fillStyle = colours.thermal;
  for (const reach of [120, 80, 40]) {
    disc(pen, middle, reach * scale);
    pen.fill();
  }
  const circle = { x: middle.x + offset * scale, y: middle.y };
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 2;
  disc(pen, circle, radius * scale);
  pen.stroke();
  pen.fillStyle = colours.ink;
  disc(pen, { x: circle.x + radius * scale * Math.cos(heading),
    y: circle.y + radius * scale * Math.sin(heading) }, 6);
  pen.fill();
  pen.restore();
  pen.textAlign = "center";
  pen.fillStyle = colours.ink;
  pen.strokeStyle = colours.halo;
  pen.lineWidth = 4;
  const below = middle.y + size / 2 + 1.2 * fontSize();
  pen.strokeText(t("from.above"), middle.x, below);
  pen.fillText(t("from.above"), middle.x, below);
}

function disc(pen, { x, y }, round) {
  pen.beginPath();
  pen.arc(x, y, Math.max(round, 0), 0, 2 * Math.PI);
}
