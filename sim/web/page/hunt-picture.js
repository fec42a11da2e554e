// The pictures of "Find the core": the glider from above with the help of the round, and the
// thermal with the path afterwards. North is up.

/** A colour of the game. */
const huntColour = (name) =>
  getComputedStyle(document.documentElement).getPropertyValue(`--hunt-${name}`).trim();
const pageColour = (name) =>
  getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();

let huntDrawn = 0;

function drawHunt(now) {
  if (!hunt.isOpen) return;
  requestAnimationFrame(drawHunt);
  if (still.matches && now - huntDrawn < 500) return;
  huntDrawn = now;
  const { shows } = by("hunt-view").dataset;
  const canvas = fresh(by("hunt-canvas"));
  if (shows === "debrief") drawHuntMap(canvas, hunt.result);
  else drawHuntRound(canvas, shows === "round" ? hunt.now : null);
}

/** The round: what is seen depends on its help. */
function drawHuntRound({ pen, width, height }, now) {
  if (!now || hunt.trail.length === 0) return drawHuntAir(pen, width, height, [0, 0], 1);
  const left = Math.max(0, 180 - Math.max(0, now.time));
  by("hunt-clock").textContent = now.time < 0 ? `−${Math.ceil(-now.time)} s`
    : `${Math.floor(left / 60)}:${String(Math.floor(left % 60)).padStart(2, "0")}`;
  const wanted = Number.isNaN(hunt.bank) ? now.wanted : hunt.bank;
  by("hunt-bank").textContent = huntBank(wanted);
  if (hunt.round >= 4) return;
  const scale = Math.min(width, height) / 420;
  if (hunt.round === 3) {
    drawHuntCompass(pen, width / 2, height / 2, Math.min(width, height) * 0.36, now);
    return drawHuntGlider(pen, width / 2, height / 2, now, Math.min(width, height) * 0.2);
  }
  const middle = huntMiddle(now);
  const x = (east) => width / 2 + (east - middle[0]) * scale;
  const y = (north) => height / 2 - (north - middle[1]) * scale;
  drawHuntAir(pen, width, height, middle, scale);
  drawHuntTrail(pen, x, y, now.time);
  drawHuntGlider(pen, x(now.east), y(now.north), now, Math.max(46, 62 * scale));
  drawHuntCorner(pen, width, height, scale);
  if (hunt.round === 1) drawHuntLegend(pen, width, height);
}

/** The middle of the last circle, followed slowly: the glider moves and the circle stays. */
function huntMiddle(now) {
  const about = hunt.trail.filter(({ time }) => time > now.time - 20);
  const mean = ["east", "north"].map((axis) =>
    about.reduce((sum, point) => sum + point[axis], 0) / about.length);
  const { at, time } = hunt.middle ?? { at: mean, time: now.time };
  const since = now.time - time;
  const follow = since > 2 ? 1 : 1 - Math.exp(-since / 4);
  hunt.middle = { at: at.map((value, axis) => value + follow * (mean[axis] - value)),
    time: now.time };
  return hunt.middle.at;
}

/** Dots that stand still in the air, 50 m apart. */
function drawHuntAir(pen, width, height, [east, north], scale) {
  pen.fillStyle = huntColour("dot");
  const apart = 50 * scale < 12 ? 60 : 50 * scale;
  const rest = (value) => ((value % apart) + apart) % apart;
  for (let px = rest(width / 2 - east * scale); px < width; px += apart) {
    for (let py = rest(height / 2 + north * scale); py < height; py += apart) {
      pen.beginPath();
      pen.arc(px, py, 1.6, 0, 2 * Math.PI);
      pen.fill();
    }
  }
}

/** Lift warm and thick, sink cold and thin. */
function huntPen(pen, climb, isPlain) {
  const strength = Math.min(Math.abs(climb) / 3, 1);
  pen.strokeStyle = huntColour(isPlain ? "path" : climb > 0 ? "lift" : "sink");
  pen.lineWidth = isPlain ? 3 : climb > 0 ? 2.5 + 5 * strength : 2.5;
}

function drawHuntTrail(pen, x, y, time) {
  pen.lineCap = "butt";
  // The choice depends on the time alone, so that the line does not flicker.
  const points = hunt.trail.filter((point, place) =>
    Math.round(50 * point.time) % 6 === 0 || place === hunt.trail.length - 1);
  for (let place = 1; place < points.length; place += 1) {
    const [one, other] = [points[place - 1], points[place]];
    huntPen(pen, other.climb, hunt.round === 2);
    pen.globalAlpha = 0.12 + 0.88 * Math.max(0, 1 - (time - other.time) / HUNT_TRAIL_S);
    pen.beginPath();
    pen.moveTo(x(one.east), y(one.north));
    pen.lineTo(x(other.east), y(other.north));
    pen.stroke();
  }
  pen.globalAlpha = 1;
  pen.lineCap = "round";
}

/** A glider from above; the lower wing looks shorter, the bank as a share of a right angle. */
function drawHuntGlider(pen, px, py, { heading, bank }, span) {
  pen.save();
  pen.translate(px, py);
  pen.rotate(heading);
  const half = (span / 2) * Math.cos((bank * Math.PI) / 180);
  const shape = new Path2D();
  shape.ellipse(0, span * 0.06, span * 0.028, span * 0.24, 0, 0, 2 * Math.PI);
  const wing = new Path2D();
  wing.moveTo(-half, span * 0.02);
  wing.quadraticCurveTo(0, -span * 0.07, half, span * 0.02);
  wing.lineTo(half, span * 0.045);
  wing.quadraticCurveTo(0, span * 0.03, -half, span * 0.045);
  wing.closePath();
  const tail = new Path2D();
  tail.rect(-span * 0.1, span * 0.26, span * 0.2, span * 0.035);
  pen.lineWidth = 5;
  pen.strokeStyle = huntColour("air");
  for (const part of [wing, shape, tail]) pen.stroke(part);
  pen.fillStyle = huntColour("path");
  for (const part of [wing, shape, tail]) pen.fill(part);
  pen.restore();
}

function drawHuntCompass(pen, px, py, radius) {
  pen.strokeStyle = pageColour("line");
  pen.fillStyle = pageColour("ink");
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  for (let tick = 0; tick < 36; tick += 1) {
    const angle = (tick * Math.PI) / 18;
    const [sine, cosine] = [Math.sin(angle), -Math.cos(angle)];
    const inner = radius * (tick % 9 === 0 ? 0.88 : tick % 3 === 0 ? 0.93 : 0.97);
    pen.lineWidth = tick % 9 === 0 ? 4 : 2;
    pen.beginPath();
    pen.moveTo(px + inner * sine, py + inner * cosine);
    pen.lineTo(px + radius * sine, py + radius * cosine);
    pen.stroke();
  }
  pen.font = `700 ${1.6 * fontSize()}px system-ui, sans-serif`;
  ["N", "E", "S", "W"].forEach((name, place) => {
    const angle = (place * Math.PI) / 2;
    pen.fillText(name, px + 1.12 * radius * Math.sin(angle), py - 1.12 * radius * Math.cos(angle));
  });
  pen.textBaseline = "alphabetic";
}

/** North and a hundred metres. */
function drawHuntCorner(pen, width, height, scale) {
  const [px, py] = [22, height - 20];
  pen.strokeStyle = pageColour("soft");
  pen.fillStyle = pageColour("ink");
  pen.lineWidth = 2;
  pen.beginPath();
  pen.moveTo(px, py - 6);
  pen.lineTo(px, py);
  pen.lineTo(px + 100 * scale, py);
  pen.lineTo(px + 100 * scale, py - 6);
  pen.stroke();
  pen.textAlign = "left";
  pen.fillText(t("hunt.scale"), px + 6, py - 9);
  const top = py - 74;
  pen.beginPath();
  pen.moveTo(px, py - 26);
  pen.lineTo(px, top + 8);
  pen.moveTo(px - 6, top + 18);
  pen.lineTo(px, top + 8);
  pen.lineTo(px + 6, top + 18);
  pen.stroke();
  pen.textAlign = "center";
  pen.fillText(t("hunt.north"), px, top);
}

/** What the colours of a path mean, at the right. */
function drawHuntLegend(pen, width, height) {
  pen.textAlign = "right";
  const lines = [["lift", 7, t("hunt.lift")], ["sink", 3, t("hunt.sink")]];
  lines.forEach(([colour, thick, text], row) => {
    const py = height - 18 - (1 - row) * 1.5 * fontSize();
    pen.strokeStyle = huntColour(colour);
    pen.lineWidth = thick;
    pen.beginPath();
    pen.moveTo(width - 46, py - 5);
    pen.lineTo(width - 18, py - 5);
    pen.stroke();
    pen.fillStyle = pageColour("ink");
    pen.fillText(text, width - 56, py);
  });
}

// Afterwards.

/** The path without the small steps of the wandering thermal, from which it is seen. */
function huntSmooth({ path }) {
  return path.map((point, place) => {
    const near = path.slice(Math.max(place - 4, 0), place + 5);
    const mean = (axis) => near.reduce((sum, each) => sum + each[axis], 0) / near.length;
    return [point[0], mean(1), mean(2), point[3]];
  });
}

/** The thermal at its strength as a glow, made once a result and a colour. */
function huntGlow(result) {
  const colour = huntColour("glow");
  if (result.glow?.colour === colour) return result.glow.image;
  const { side, rise } = result.field;
  const image = Object.assign(document.createElement("canvas"), { width: side, height: side });
  const pen = image.getContext("2d");
  const most = Math.max(...rise);
  for (let place = 0; place < rise.length; place += 1) {
    const alpha = 0.85 * Math.max(0, rise[place] / most) ** 1.2;
    pen.fillStyle = `rgb(${colour} / ${alpha.toFixed(3)})`;
    // The first row is the south.
    pen.fillRect(place % side, side - 1 - Math.floor(place / side), 1, 1);
  }
  result.glow = { colour, image };
  return image;
}

/** Pieces of the line on which the field has a value, m: marching squares. */
function huntRing({ reach, side, rise }, level) {
  const apart = (2 * reach) / (side - 1);
  const metres = (place) => place * apart - reach;
  const pieces = [];
  for (let north = 0; north + 1 < side; north += 1) {
    for (let east = 0; east + 1 < side; east += 1) {
      const corners = [[0, 0], [1, 0], [1, 1], [0, 1]].map(([e, n]) => ({
        at: [metres(east + e), metres(north + n)],
        above: rise[(north + n) * side + east + e] - level }));
      const cuts = corners.flatMap((one, place) => {
        const other = corners[(place + 1) % 4];
        if (one.above >= 0 === other.above >= 0) return [];
        const share = one.above / (one.above - other.above);
        return [one.at.map((value, axis) => value + share * (other.at[axis] - value))];
      });
      for (let place = 0; place + 1 < cuts.length; place += 2)
        pieces.push([cuts[place], cuts[place + 1]]);
    }
  }
  return pieces;
}

const huntRings = (result) => result.rings ??= Array.from(
  { length: Math.floor(Math.max(...result.field.rise)) },
  (_, place) => ({ level: place + 1, pieces: huntRing(result.field, place + 1) }));

function drawHuntMap({ pen, width, height }, result) {
  // The whole path and the thermal's rings.
  const reached = [...result.path.map(([, east, north]) => [east, north]),
    ...huntRings(result).slice(0, 1).flatMap(({ pieces }) => pieces.map(([start]) => start))];
  const range = [0, 1].map((axis) => {
    const values = reached.map((point) => Math.min(Math.max(point[axis], -600), 600));
    return [Math.min(...values) - 45, Math.max(...values) + 45];
  });
  const scale = Math.min(width / (range[0][1] - range[0][0]), height / (range[1][1] - range[1][0]));
  const [middleEast, middleNorth] = range.map(([least, most]) => (least + most) / 2);
  const x = (east) => width / 2 + (east - middleEast) * scale;
  const y = (north) => height / 2 - (north - middleNorth) * scale;
  const { reach, side } = result.field;
  const apart = (2 * reach) / (side - 1);
  drawHuntAir(pen, width, height, [middleEast, middleNorth], scale);
  pen.imageSmoothingQuality = "high";
  pen.drawImage(huntGlow(result), x(-reach - apart / 2), y(reach + apart / 2),
    side * apart * scale, side * apart * scale);
  drawHuntRings(pen, result, x, y);
  drawHuntPath(pen, result, x, y);
  drawHuntBest(pen, result, x, y, scale);
  drawHuntMiddles(pen, result, x, y);
  pen.font = `${fontSize()}px system-ui, sans-serif`;
  drawHuntCorner(pen, width, height, scale);
  drawHuntLegend(pen, width, height);
}

function drawHuntRings(pen, result, x, y) {
  pen.strokeStyle = huntColour("ring");
  pen.lineWidth = 1.5;
  for (const { level, pieces } of huntRings(result)) {
    pen.beginPath();
    for (const [[e, n], [east, north]] of pieces) {
      pen.moveTo(x(e), y(n));
      pen.lineTo(x(east), y(north));
    }
    pen.stroke();
    const [label] = pieces.map(([start]) => start).sort((one, other) => one[1] - other[1]);
    const name = `${number(level, Number.isInteger(level) ? 0 : 1)} m/s`;
    if (label) huntText(pen, name, x(label[0]), y(label[1]) + 4, "ring");
  }
}

/** Text with an edge of the air, so that it is read on any ground. */
function huntText(pen, text, px, py, colour) {
  pen.textAlign = "center";
  pen.lineWidth = 5;
  pen.strokeStyle = huntColour("air");
  pen.strokeText(text, px, py);
  pen.fillStyle = huntColour(colour);
  pen.fillText(text, px, py);
  pen.strokeStyle = huntColour("ring");
  pen.lineWidth = 1.5;
}

function drawHuntPath(pen, result, x, y) {
  const path = result.smooth ??= huntSmooth(result);
  pen.lineCap = "butt";
  for (let place = 1; place < path.length; place += 1) {
    const [, e, n] = path[place - 1];
    const [time, east, north, climb] = path[place];
    huntPen(pen, climb, false);
    pen.lineWidth *= 0.55;
    pen.globalAlpha = 0.25 + (0.6 * time) / 180;
    pen.beginPath();
    pen.moveTo(x(e), y(n));
    pen.lineTo(x(east), y(north));
    pen.stroke();
  }
  pen.globalAlpha = 1;
  pen.lineCap = "round";
}

/** The best circle and its middle. */
function drawHuntBest(pen, { circle: [east, north, radius] }, x, y, scale) {
  const [px, py] = [x(east), y(north)];
  for (const [colour, width] of [["air", 6], ["best", 3]]) {
    pen.strokeStyle = huntColour(colour);
    pen.lineWidth = width;
    pen.setLineDash([10, 8]);
    pen.beginPath();
    pen.arc(px, py, radius * scale, 0, 2 * Math.PI);
    pen.stroke();
    pen.setLineDash([]);
    pen.beginPath();
    for (const [dx, dy] of [[9, 0], [0, 9]]) {
      pen.moveTo(px - dx, py - dy);
      pen.lineTo(px + dx, py + dy);
    }
    pen.stroke();
  }
  const away = 0.8 * radius * scale + 8;
  huntText(pen, t("hunt.best"), px + away, py + away, "best");
}

/** The middles of the circles in their order, and an arrow from the first to the core. */
function drawHuntMiddles(pen, { turns, circle }, x, y) {
  if (turns.length === 0) return;
  const places = turns.map(([, , east, north]) => [x(east), y(north)]);
  pen.strokeStyle = huntColour("path");
  pen.lineWidth = 2.5;
  pen.beginPath();
  for (const place of places) pen.lineTo(...place);
  pen.stroke();
  if (turns[0][5] > 25) huntArrow(pen, places[0], [x(circle[0]), y(circle[1])]);
  const size = 0.85 * fontSize();
  pen.font = `700 ${size}px system-ui, sans-serif`;
  pen.textBaseline = "middle";
  places.forEach(([px, py], place) => {
    const isEnd = place === 0 || place === places.length - 1;
    pen.beginPath();
    pen.arc(px, py, isEnd ? size * 0.95 : 4.5, 0, 2 * Math.PI);
    pen.fillStyle = huntColour("path");
    pen.fill();
    pen.strokeStyle = huntColour("air");
    pen.lineWidth = 2;
    pen.stroke();
    if (!isEnd) return;
    pen.fillStyle = huntColour("air");
    pen.textAlign = "center";
    pen.fillText(String(place + 1), px, py + 1);
  });
  pen.textBaseline = "alphabetic";
}

/** An arrow most of the way to a place. */
function huntArrow(pen, [px, py], [toX, toY]) {
  const length = Math.hypot(toX - px, toY - py);
  if (length < 40) return;
  const [ux, uy] = [(toX - px) / length, (toY - py) / length];
  const [tipX, tipY] = [toX - 14 * ux, toY - 14 * uy];
  for (const [colour, width] of [["air", 9], ["best", 4]]) {
    pen.strokeStyle = huntColour(colour);
    pen.lineWidth = width;
    pen.beginPath();
    pen.moveTo(px + 16 * ux, py + 16 * uy);
    pen.lineTo(tipX, tipY);
    pen.moveTo(tipX - 12 * ux - 8 * uy, tipY - 12 * uy + 8 * ux);
    pen.lineTo(tipX, tipY);
    pen.lineTo(tipX - 12 * ux + 8 * uy, tipY - 12 * uy - 8 * ux);
    pen.stroke();
  }
}

function huntBank(deg) {
  if (Math.abs(deg) < 0.5) return t("hunt.level");
  return t(deg < 0 ? "hunt.bank.left" : "hunt.bank.right", { deg: number(Math.abs(deg), 0) });
}
