// The picture that moves with the sound: height above, vertical speed below, climbs behind both.

const STRIDE = 4;
const [TIME, HEIGHT, CLIMB, AVERAGE] = [0, 1, 2, 3];
const LEAST_S = 20;
const LEFT = 56;
const RIGHT = 12;
const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`);

class Chart {
  constructor(canvas, points, data) {
    const count = points.length / STRIDE;
    const length = Math.max(count ? points[STRIDE * (count - 1) + TIME] : 1, 1);
    Object.assign(this, { canvas, points, data, count, length, from: 0, to: length, now: 0 });
  }

  /** The place of the last sample at or before a time. */
  placeOf(time) {
    let [low, high] = [0, this.count];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.points[STRIDE * middle + TIME] <= time) low = middle + 1;
      else high = middle;
    }
    return Math.max(low - 1, 0);
  }

  at(time) {
    const place = STRIDE * this.placeOf(time);
    return this.points.subarray(place, place + STRIDE);
  }

  show(from, to) {
    const span = Math.min(Math.max(to - from, Math.min(LEAST_S, this.length)), this.length);
    const start = Math.min(Math.max(from, 0), this.length - span);
    Object.assign(this, { from: start, to: start + span, base: null });
    this.draw();
  }

  zoom(factor, about = this.now) {
    const share = (about - this.from) / (this.to - this.from);
    const inside = share >= 0 && share <= 1 ? share : 0.5;
    const span = (this.to - this.from) * factor;
    this.show(about - inside * span, about + (1 - inside) * span);
  }

  moveTo(time) {
    this.now = time;
    const span = this.to - this.from;
    if (time < this.from || time > this.to) this.show(time - 0.1 * span, time + 0.9 * span);
    else this.draw();
  }

  timeAt(x) {
    const share = (x - LEFT) / (this.canvas.clientWidth - LEFT - RIGHT);
    return Math.min(Math.max(this.from + share * (this.to - this.from), 0), this.length);
  }

  /** The picture, from what was drawn of this stretch before, and the cursor. */
  draw() {
    const { canvas } = this;
    const [width, height] = [canvas.clientWidth, canvas.clientHeight];
    if (!width) return;
    const scale = devicePixelRatio || 1;
    const size = { width: Math.round(width * scale), height: Math.round(height * scale) };
    if (canvas.width !== size.width || canvas.height !== size.height) {
      Object.assign(canvas, size);
      this.base = null;
    }
    this.base ??= this.drawn(size, { width, height, scale });
    const pen = canvas.getContext("2d");
    pen.clearRect(0, 0, size.width, size.height);
    pen.drawImage(this.base, 0, 0);
    pen.fillStyle = colour("now");
    const x = LEFT + (this.now - this.from) / (this.to - this.from) * (width - LEFT - RIGHT);
    pen.fillRect((x - 1) * scale, 34 * scale, 2 * scale, (height - 60) * scale);
  }

  /** All but the cursor. */
  drawn(size, { width, height, scale }) {
    const base = Object.assign(document.createElement("canvas"), size);
    const pen = base.getContext("2d");
    pen.scale(scale, scale);
    pen.font = "14px system-ui, sans-serif";
    const x = (time) => LEFT + (time - this.from) / (this.to - this.from) * (width - LEFT - RIGHT);
    const upper = { top: 34, bottom: 0.54 * height };
    const lower = { top: 0.54 * height + 30, bottom: height - 26 };
    this.columns = this.reduced(Math.max(Math.floor(width - LEFT - RIGHT), 10));
    this.climbs(pen, x, upper, lower);
    this.within(pen, upper, () => this.heights(pen, x, upper));
    this.within(pen, lower, () => this.speeds(pen, x, lower));
    this.times(pen, x, lower);
    return base;
  }

  /** Draws nothing beside a panel but its labels. */
  within(pen, { top, bottom }, draw) {
    pen.save();
    const lines = draw();
    pen.beginPath();
    pen.rect(LEFT, top, this.canvas.clientWidth - LEFT - RIGHT, bottom - top);
    pen.clip();
    lines?.();
    pen.restore();
  }

  /** The lowest, highest and last values of each column of pixels. */
  reduced(count) {
    const columns = [];
    const { points } = this;
    const span = this.to - this.from;
    const last = STRIDE * Math.min(this.placeOf(this.to) + 1, this.count - 1);
    for (let place = STRIDE * this.placeOf(this.from); place <= last; place += STRIDE) {
      const time = points[place + TIME];
      const height = points[place + HEIGHT];
      const climb = points[place + CLIMB];
      const average = points[place + AVERAGE];
      const number = Math.floor((time - this.from) / span * count);
      let column = columns[columns.length - 1];
      if (!column || column.number !== number) {
        column = { number, time, low: Infinity, high: -Infinity, least: Infinity, most: -Infinity };
        columns.push(column);
      }
      column.height = height;
      column.climb = climb;
      column.average = average;
      if (height < column.low) column.low = height;
      if (height > column.high) column.high = height;
      if (climb < column.least) column.least = climb;
      if (climb > column.most) column.most = climb;
    }
    return columns;
  }

  climbs(pen, x, upper, lower) {
    pen.textAlign = "center";
    let free = -Infinity;
    this.data.climbs.forEach(([from, to], place) => {
      const [left, right] = [from, to].map((time) => x(time - this.data.start_s));
      const [seen, end] = [Math.max(left, LEFT), Math.min(right, x(this.to))];
      if (end <= seen) return;
      pen.fillStyle = colour("climb");
      pen.fillRect(seen, upper.top, Math.max(end - seen, 2), lower.bottom - upper.top);
      const middle = 0.5 * (seen + end);
      if (middle - 9 < free) return;
      pen.fillStyle = colour("ink");
      pen.fillText(String(place + 1), middle, 30);
      free = middle + 9;
    });
  }

  /** Lines of round values, and the function from a value to its place. */
  axis(pen, [low, high], { top, bottom }, { factor, name }, heading) {
    const [least, most] = [low * factor, high * factor];
    const step = roundStep((most - least) / Math.max((bottom - top) / 36, 1));
    const y = (value) => bottom - (value * factor - least) / (most - least) * (bottom - top);
    pen.textAlign = "right";
    for (let tick = Math.ceil(least / step) * step; tick <= most; tick += step) {
      const place = bottom - (tick - least) / (most - least) * (bottom - top);
      pen.fillStyle = colour("edge");
      pen.fillRect(LEFT, place, this.canvas.clientWidth - LEFT - RIGHT, 1);
      pen.fillStyle = colour("soft");
      pen.fillText(String(+tick.toFixed(6)), LEFT - 6, place + 5);
    }
    pen.textAlign = "left";
    pen.fillStyle = colour("ink");
    pen.fillText(`${heading} (${name})`, LEFT, top - (top < 40 ? 21 : 8));
    return y;
  }

  heights(pen, x, panel) {
    const columns = this.columns.filter(({ low }) => Number.isFinite(low));
    const low = Math.min(...columns.map((column) => column.low));
    const high = Math.max(...columns.map((column) => column.high));
    if (!columns.length) return;
    const margin = Math.max(0.08 * (high - low), 5);
    const y = this.axis(pen, [low - margin, high + margin], panel, this.data.height, "Height");
    return () =>
      line(pen, columns.map(({ time, height }) => [x(time), y(height)]), colour("ink"), 2);
  }

  speeds(pen, x, panel) {
    const columns = this.columns.filter(({ least }) => Number.isFinite(least));
    if (!columns.length) return;
    const low = Math.min(-2, ...columns.map((column) => column.least));
    const high = Math.max(2, ...columns.map((column) => column.most));
    const bounds = [Math.max(low, -15), Math.min(high, 15)];
    const y = this.axis(pen, bounds, panel, this.data.climb, "Vertical speed");
    this.speedKey(pen, panel.top - 8);
    return () => {
      pen.fillStyle = colour("soft");
      pen.fillRect(LEFT, y(0), this.canvas.clientWidth - LEFT - RIGHT, 1);
      const averages = columns.filter(({ average }) => Number.isFinite(average));
      line(pen, averages.map(({ time, average }) => [x(time), y(average)]), colour("mean"), 5);
      pen.fillStyle = colour("band");
      for (const { time, least, most } of columns) {
        pen.fillRect(x(time) - 0.7, y(most), 1.4, y(least) - y(most));
      }
      const heard = columns.filter(({ climb }) => Number.isFinite(climb));
      line(pen, heard.map(({ time, climb }) => [x(time), y(climb)]), colour("band"), 1.4);
    };
  }

  /** What the two lines are, on the right above their panel. */
  speedKey(pen, bottom) {
    let right = this.canvas.clientWidth - RIGHT;
    pen.textAlign = "right";
    for (const [words, name, width] of [["average", "mean", 5], ["heard", "band", 2]]) {
      pen.fillStyle = colour("ink");
      pen.fillText(words, right, bottom);
      right -= pen.measureText(words).width + 6;
      pen.fillStyle = colour(name);
      pen.fillRect(right - 22, bottom - 5 - 0.5 * width, 22, width);
      right -= 38;
    }
  }

  times(pen, x, { bottom }) {
    const span = this.to - this.from;
    const steps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10_800, 21_600];
    const step = steps.find((each) => span / each <= this.canvas.clientWidth / 90) ?? 43_200;
    const zero = this.zero();
    pen.textAlign = "center";
    pen.fillStyle = colour("soft");
    for (let tick = Math.ceil((this.from + zero) / step) * step; tick - zero <= this.to; tick += step) {
      pen.fillText(this.clock(tick - zero, step < 60), x(tick - zero), bottom + 18);
    }
  }

  /** What the clock shows so many seconds after the first sample. */
  clock(time, withSeconds = true) {
    const seconds = time + this.zero();
    return this.data.is_utc ? timeOfDay(seconds, withSeconds) : elapsed(seconds);
  }

  /** What it shows at the first sample. */
  zero() {
    return this.data.clock_s;
  }
}

function line(pen, places, style, width) {
  Object.assign(pen, { strokeStyle: style, lineWidth: width, lineJoin: "round" });
  pen.beginPath();
  places.forEach(([x, y]) => pen.lineTo(x, y));
  pen.stroke();
}

function roundStep(least) {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((digit) => digit * power).find((step) => step >= least);
}

const two = (number) => String(number).padStart(2, "0");

/** `h:mm:ss` or `h:mm`, anew after midnight. */
function timeOfDay(seconds, withSeconds) {
  const whole = Math.floor(((seconds % 86_400) + 86_400) % 86_400);
  const [hours, minutes] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60];
  return `${hours}:${two(minutes)}${withSeconds ? `:${two(whole % 60)}` : ""}`;
}

/** `m:ss`, or `h:mm:ss` from an hour on. */
function elapsed(seconds) {
  const whole = Math.floor(Math.abs(seconds));
  const [hours, minutes] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60];
  const rest = `${hours ? `${hours}:${two(minutes)}` : minutes}:${two(whole % 60)}`;
  return seconds < 0 ? `-${rest}` : rest;
}
