// Behind the glider: sky, clouds, hills and fields, which pass by with the flight. Invented country.

/** A line of hills: the sum of three waves, each height a share of the picture's. */
const hill = (x, seed) => 0.5 + 0.26 * Math.sin(x * 1.3 + seed) + 0.16 * Math.sin(x * 3.1 + 2 *
  seed) + 0.08 * Math.sin(x * 7.7 + 5 * seed);

function drawBackdrop(pen, width, height, horizon, along, lift) {
  const sky = pen.createLinearGradient(0, 0, 0, height);
  sky.addColorStop(0, colours.skyTop);
  sky.addColorStop(Math.min(1, horizon / height), colours.skyLow);
  pen.fillStyle = sky;
  pen.fillRect(0, 0, width, height);
  for (let cloud = 0; cloud < 5; cloud += 1) {
    const span = width * 1.6;
    const x = ((((cloud * 0.37 * span - along * 0.9) % span) + span) % span) - width * 0.3;
    drawCloud(pen, x, height * (0.12 + 0.07 * (cloud % 3)), height * (0.1 + 0.03 * (cloud % 2)),
      cloud);
  }
  drawHills(pen, width, horizon, height * 0.16, along * 0.25, 1, colours.hillFar);
  drawHills(pen, width, horizon, height * 0.09, along * 0.6, 4, colours.hillNear);
  drawFields(pen, width, height, horizon, along, lift);
}

function drawHills(pen, width, horizon, tall, along, seed, colour) {
  pen.fillStyle = colour;
  pen.beginPath();
  pen.moveTo(0, horizon + 1);
  for (let x = 0; x <= width + 8; x += 8)
    pen.lineTo(x, horizon - tall * hill((x + along) / 260, seed));
  pen.lineTo(width, horizon + 1);
  pen.fill();
}

/** Fields in strips that are wider the nearer they are, with hedges that slant to the horizon. */
function drawFields(pen, width, height, horizon, along, lift) {
  if (horizon >= height) return;
  pen.fillStyle = colours.ground;
  pen.fillRect(0, horizon, width, height - horizon);
  pen.save();
  pen.beginPath();
  pen.rect(0, horizon, width, height - horizon);
  pen.clip();
  pen.strokeStyle = colours.groundLine;
  const deep = height - horizon;
  for (let row = 1; row < 7; row += 1) {
    const y = horizon + deep * (row / 6) ** 2 * (1 + lift);
    pen.lineWidth = 1 + row / 4;
    pen.beginPath();
    pen.moveTo(0, y);
    pen.lineTo(width, y);
    pen.stroke();
  }
  const apart = 130;
  const shift = (along * 1.4) % apart;
  pen.lineWidth = 1.5;
  for (let x = -width; x < 2 * width; x += apart) {
    const top = width / 2 + (x - shift - width / 2) * 0.45;
    pen.beginPath();
    pen.moveTo(top, horizon);
    pen.lineTo(width / 2 + (x - shift - width / 2) * 1.6, height);
    pen.stroke();
  }
  pen.restore();
}

/** A cumulus: heaped round, flat below. */
function drawCloud(pen, x, y, size, seed) {
  pen.fillStyle = colours.cloud;
  pen.save();
  pen.beginPath();
  pen.rect(x - 4 * size, y - 3 * size, 8 * size, 3 * size);
  pen.clip();
  pen.beginPath();
  for (let heap = 0; heap < 6; heap += 1) {
    const round = size * (0.5 + 0.28 * Math.sin(2.4 * heap + seed) + (heap % 5 ? 0.12 : -0.12));
    const left = x + (heap - 2.5) * 0.62 * size;
    pen.moveTo(left + round, y);
    pen.arc(left, y - 0.12 * size, round, 0, 2 * Math.PI);
  }
  pen.fill();
  pen.restore();
}
