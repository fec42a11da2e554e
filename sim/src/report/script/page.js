// The controls of a flight: play, seek, pace, zoom, jump to a climb.

const BEFORE_S = 5;
const STEP_S = 10;
const flights = [];

class Flight {
  constructor(article) {
    const find = (name) => article.querySelector(`.${name}`);
    Object.assign(this, { article, find, player: null, starting: null, plays: false });
    this.data = JSON.parse(textOf(find("data")));
  }

  async begin() {
    this.recording = await recordingOf(this.find("samples"));
    const points = await pointsOf(this.recording);
    this.find("player").hidden = false;
    this.find("before").hidden = this.find("after").hidden = this.data.climbs.length === 0;
    this.chart = new Chart(this.find("chart"), points, this.data);
    this.find("seek").max = this.chart.length;
    this.article.querySelectorAll(".hear").forEach((button) => { button.hidden = false; });
    this.listen();
    new ResizeObserver(() => this.chart.draw()).observe(this.find("chart"));
    this.tell(0);
  }

  listen() {
    const on = (name, kind, act) => this.find(name).addEventListener(kind, act);
    on("play", "click", () => this.play(!this.plays));
    on("seek", "input", ({ target }) => this.seek(Number(target.value)));
    on("pace", "change", () => this.setPace());
    on("volume", "input", () => this.setVolume());
    on("before", "click", () => this.jump(-1));
    on("after", "click", () => this.jump(1));
    on("closer", "click", () => this.chart.zoom(0.5));
    on("farther", "click", () => this.chart.zoom(2));
    on("whole", "click", () => this.chart.show(0, this.chart.length));
    this.article.querySelectorAll(".hear").forEach((button) => button.addEventListener("click", () =>
      this.hear(Number(button.dataset.climb) - 1)));
    this.canvas();
  }

  canvas() {
    const canvas = this.find("chart");
    canvas.tabIndex = 0;
    let held = null;
    canvas.addEventListener("pointerdown", (event) => {
      held = { x: event.offsetX, from: this.chart.from, to: this.chart.to, moved: false };
      canvas.setPointerCapture(event.pointerId);
    });
    canvas.addEventListener("pointermove", (event) => {
      if (!held || (!held.moved && Math.abs(event.offsetX - held.x) < 4)) return;
      held.moved = true;
      const perPixel = (held.to - held.from) / (canvas.clientWidth - LEFT - RIGHT);
      const by = (held.x - event.offsetX) * perPixel;
      this.chart.show(held.from + by, held.to + by);
    });
    canvas.addEventListener("pointerup", (event) => {
      if (held && !held.moved) this.seek(this.chart.timeAt(event.offsetX));
      held = null;
    });
    canvas.addEventListener("pointercancel", () => { held = null; });
    canvas.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !event.shiftKey) return;
      event.preventDefault();
      this.chart.zoom(event.deltaY > 0 ? 1.25 : 0.8, this.chart.timeAt(event.offsetX));
    }, { passive: false });
    canvas.addEventListener("keydown", (event) => this.key(event));
  }

  key(event) {
    const acts = {
      " ": () => this.play(!this.plays),
      ArrowLeft: () => this.seek(this.chart.now - STEP_S),
      ArrowRight: () => this.seek(this.chart.now + STEP_S),
      n: () => this.jump(1),
      p: () => this.jump(-1),
      "+": () => this.chart.zoom(0.5),
      "-": () => this.chart.zoom(2),
    };
    const act = acts[event.key];
    if (!act || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    act();
  }

  /** Sound begins with the first wish for it: browsers allow none before. */
  async start() {
    this.starting ??= (async () => {
      const context = new AudioContext();
      const { live = {} } = window.chirrupTest ?? {};
      const player = await playerIn(context, this.recording, live);
      player.node.port.onmessage = ({ data }) => this.take(data);
      Object.assign(this, { context, player });
      this.setPace();
      this.setVolume();
      player.call("seek", this.chart.now);
    })();
    await this.starting;
  }

  async play(wanted) {
    this.plays = wanted;
    this.find("play").textContent = wanted ? "Pause" : "Play";
    if (wanted) {
      flights.filter((flight) => flight !== this && flight.plays).forEach((flight) =>
        flight.play(false));
      try {
        await this.start();
        await this.context.resume();
      } catch (error) {
        this.plays = false;
        this.find("play").textContent = "Play";
        this.find("trouble").textContent = `There is no sound here: ${error.message}`;
        return;
      }
      if (this.chart.now >= this.chart.length - 0.5) this.seek(0);
    }
    this.player?.call("play", this.plays);
  }

  take(data) {
    if (data.samples) window.chirrupTest?.samples(data.samples);
    if (data.time === undefined || !this.plays) return;
    if (data.ended) this.play(false);
    // As often as the screen shows, however often the sound reports.
    const isDue = this.told === undefined;
    this.told = data.time;
    if (isDue) requestAnimationFrame(() => {
      this.tell(this.told);
      this.told = undefined;
    });
  }

  seek(time) {
    const wanted = Math.min(Math.max(time, 0), this.chart.length);
    this.player?.call("seek", wanted);
    this.tell(wanted);
  }

  tell(time) {
    this.chart.moveTo(time);
    this.find("seek").value = time;
    const [, height, climb] = this.chart.at(time);
    const shown = (value, { factor, decimals, name }, sign) => {
      if (!Number.isFinite(value)) return "no reading";
      // Zero added: what rounds to zero has no minus.
      const number = Number((value * factor).toFixed(decimals)) + 0;
      return `${sign && number >= 0 ? "+" : ""}${number.toFixed(decimals)} ${name}`;
    };
    const words = `${this.chart.clock(time)}, ${shown(height, this.data.height, false)}, ` +
      shown(climb, this.data.climb, true);
    this.find("now").textContent = words;
    this.find("seek").setAttribute("aria-valuetext", words);
  }

  /** From a few seconds before a climb, shown close. */
  hear(place) {
    const [from, to] = this.data.climbs[place].map((time) => time - this.data.start_s);
    const around = 0.15 * (to - from);
    this.chart.show(from - around, to + around);
    this.seek(from - BEFORE_S);
    this.play(true);
    this.find("player").scrollIntoView({ block: "nearest" });
  }

  jump(way) {
    const starts = this.data.climbs.map(([from]) => from - this.data.start_s);
    const { now } = this.chart;
    const next = way > 0 ? starts.find((start) => start > now + 0.5) :
      starts.findLast((start) => start < now - 3);
    if (next !== undefined) this.seek(next);
  }

  setPace() {
    this.player?.call("pace", ...this.find("pace").value.split(" ").map(Number));
  }

  setVolume() {
    // Equal steps are about equal steps of loudness.
    const share = Number(this.find("volume").value) / 100;
    if (this.player) this.player.gain.gain.value = share * share;
  }
}

async function beginAll() {
  if (typeof WebAssembly === "undefined" || typeof DecompressionStream === "undefined") return;
  for (const article of document.querySelectorAll(".flight")) {
    const flight = new Flight(article);
    flights.push(flight);
    try {
      await flight.begin();
    } catch (error) {
      console.error(error);
    }
  }
  window.chirrupTest = { ...window.chirrupTest, flights };
  document.documentElement.dataset.ready = "true";
}

beginAll();
