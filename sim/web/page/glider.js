// A sailplane as a solid of flat faces: slender wings of 18 m, a pod with a canopy, a thin boom, a
// fin with the tailplane on top. Body axes in metres: x forward, y right, z up. Invented; no type.

// The fuselage at stations from the nose: x, half its width, its top and its bottom.
const STATIONS = [[3.5, 0.02, -0.04, -0.08], [3.25, 0.16, 0.12, -0.24], [2.7, 0.28, 0.28, -0.38],
  [1.9, 0.34, 0.36, -0.46], [1, 0.34, 0.38, -0.46], [0.2, 0.3, 0.36, -0.4], [-0.6, 0.21, 0.28,
  -0.26], [-1.4, 0.13, 0.2, -0.12], [-2.6, 0.1, 0.17, -0.04], [-4, 0.07, 0.16, 0.02], [-4.35,
  0.03, 0.14, 0.06]];
const CANOPY = [[3, 0.1, 0.22], [2.6, 0.24, 0.5], [2, 0.3, 0.66], [1.3, 0.3, 0.66], [0.7, 0.25,
  0.52], [0.3, 0.1, 0.37]];
// A wing from root to tip: y, z, leading and trailing edge; the last is the winglet.
const WING = [[0.28, 0.3, 0.62, -0.36], [2.6, 0.36, 0.56, -0.32], [5.2, 0.5, 0.42, -0.26], [7.6,
  0.78, 0.2, -0.24], [8.8, 1, -0.02, -0.3], [9.1, 1.45, -0.28, -0.46]];
const SIDES = 10;

const ring = ([x, wide, top, bottom]) => Array.from({ length: SIDES }, (_, place) => {
  const angle = (2 * Math.PI * place) / SIDES;
  const [middle, tall] = [(top + bottom) / 2, (top - bottom) / 2];
  return [x, wide * Math.sin(angle), middle + tall * Math.cos(angle)];
});

/** Faces between neighbouring rings of points. */
function skin(rings, paint, closed) {
  const faces = [];
  for (let station = 0; station + 1 < rings.length; station += 1) {
    const [one, other] = [rings[station], rings[station + 1]];
    for (let place = 0; place < one.length - (closed ? 0 : 1); place += 1) {
      const next = (place + 1) % one.length;
      faces.push({ paint, points: [one[place], one[next], other[next], other[place]] });
    }
  }
  return faces;
}

const arch = ([x, wide, top]) => Array.from({ length: 7 }, (_, place) => {
  const angle = (Math.PI * (place - 3)) / 6;
  const low = 0.2;
  return [x, wide * Math.sin(angle), low + (top - low) * Math.cos(angle)];
});

function wingOf(side) {
  return WING.slice(1).map(([y, z, front, back], place) => {
    const [y0, z0, front0, back0] = WING[place];
    return { paint: "glider", flat: true, points: [[front0, side * y0, z0], [front, side * y, z],
      [back, side * y, z], [back0, side * y0, z0]] };
  });
}

const FACES = [
  ...skin(STATIONS.map(ring), "glider", true),
  ...skin(CANOPY.map(arch), "canopy", false),
  ...wingOf(1), ...wingOf(-1),
  { paint: "glider", flat: true, points: [[-3.55, 0, 0.15], [-4.1, 0, 1.42], [-4.55, 0, 1.42],
    [-4.4, 0, 0.08]] },
  ...[1, -1].map((side) => ({ paint: "glider", flat: true, points: [[-3.95, 0, 1.44], [-4.2,
    side * 1.35, 1.5], [-4.5, side * 1.35, 1.5], [-4.55, 0, 1.44]] })),
];

/** Body axes turned by course, pitch and bank, as unit vectors of the world (x, y, z up; angles
 * clockwise from above). */
function attitude(course, pitch, bank) {
  const [cc, sc, cp, sp, cb, sb] = [Math.cos(course), Math.sin(course), Math.cos(pitch),
    Math.sin(pitch), Math.cos(bank), Math.sin(bank)];
  const right = [-sc, cc, 0];
  const forward = [cc * cp, sc * cp, sp];
  const up = [-cc * sp, -sc * sp, cp];
  return { forward, right: right.map((value, axis) => value * cb - up[axis] * sb),
    up: up.map((value, axis) => value * cb + right[axis] * sb) };
}

const dot = (one, other) => one[0] * other[0] + one[1] * other[1] + one[2] * other[2];

/** The camera's axes for a direction of view: azimuth, and elevation above the glider. */
const camera = (azimuth, elevation) => ({
  right: [-Math.sin(azimuth), Math.cos(azimuth), 0],
  up: [Math.cos(azimuth) * Math.sin(elevation), Math.sin(azimuth) * Math.sin(elevation),
    Math.cos(elevation)],
  into: [Math.cos(azimuth) * Math.cos(elevation), Math.sin(azimuth) * Math.cos(elevation),
    -Math.sin(elevation)],
});

// Where the light comes from: above, from behind the viewer's left.
const LIGHT = [-0.35, 0.45, 0.82];

/** Draws the sailplane at a place; `metre` is the length of a metre in pixels. */
function drawGlider(pen, { x, y }, metre, axes, view) {
  const turned = (point) => [0, 1, 2].map((axis) =>
    point[0] * axes.forward[axis] + point[1] * axes.right[axis] + point[2] * axes.up[axis]);
  const eye = 60;
  const seen = FACES.map(({ points, paint, flat }) => {
    const solid = points.map(turned);
    const flatPoints = solid.map((point) => {
      const near = eye / (eye + dot(point, view.into));
      return [x + dot(point, view.right) * metre * near, y - dot(point, view.up) * metre * near];
    });
    const middle = solid.reduce((sum, point) => sum + dot(point, view.into), 0) / solid.length;
    // The canopy bulges out of the hull.
    const depth = middle - (paint === "canopy" ? 0.8 : 0);
    return { flatPoints, depth, paint, light: lightOn(solid, flat) };
  }).sort((one, other) => other.depth - one.depth);
  // A halo keeps it apart from whatever is behind.
  outline(pen, seen, colours.halo, 6);
  outline(pen, seen, colours.gliderEdge, 2.6);
  for (const { flatPoints, paint, light } of seen) {
    pen.fillStyle = paint === "canopy" ? colours.canopy : shade(light);
    pen.strokeStyle = pen.fillStyle;
    pen.lineWidth = 1.3;
    trace(pen, flatPoints);
    pen.fill();
    pen.stroke();
  }
}

function outline(pen, faces, colour, width) {
  pen.strokeStyle = colour;
  pen.lineWidth = width;
  for (const { flatPoints } of faces) {
    trace(pen, flatPoints);
    pen.stroke();
  }
}

function trace(pen, points) {
  pen.beginPath();
  for (const [x, y] of points) pen.lineTo(x, y);
  pen.closePath();
}

function lightOn([one, two, three], flat) {
  const [a, b] = [two, three].map((point) => point.map((value, axis) => value - one[axis]));
  const normal = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  const size = Math.hypot(...normal) || 1;
  const light = dot(normal, LIGHT) / size;
  return flat ? Math.abs(light) : (light + 1) / 2;
}

/** Between the shaded and the lit colour of the hull. */
function shade(light) {
  const share = Math.min(Math.max(light, 0), 1);
  return `color-mix(in srgb, ${colours.glider} ${Math.round(share * 100)}%, ` +
    `${colours.gliderShade})`;
}
