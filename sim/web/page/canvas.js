// What every picture needs: a canvas at the screen's resolution, the page's colours, motion wanted
// or not.

const still = matchMedia("(prefers-reduced-motion: reduce)");
const COLOUR_NAMES = ["paper", "ink", "soft", "line", "edge", "sky-top", "sky-low", "hill-far",
  "hill-near", "ground", "ground-line", "cloud", "air-up", "air-down", "air-still", "glider",
  "glider-shade", "glider-edge", "canopy", "halo", "climb", "sink", "fault", "quiet", "thermal",
  "thermal-edge"];
let colours = {};

function readColours() {
  const style = getComputedStyle(document.documentElement);
  for (const name of COLOUR_NAMES) {
    const key = name.replace(/-(\w)/g, (_, letter) => letter.toUpperCase());
    colours[key] = style.getPropertyValue(`--${name}`).trim();
  }
}

for (const query of ["(prefers-color-scheme: dark)", "(forced-colors: active)"])
  matchMedia(query).addEventListener("change", readColours);

const fontSize = () => 0.8 * parseFloat(getComputedStyle(document.documentElement).fontSize);

/** A canvas at the screen's own resolution, cleared. */
function fresh(canvas) {
  const scale = devicePixelRatio || 1;
  const width = canvas.clientWidth;
  const height = canvas.clientHeight;
  if (canvas.width !== Math.round(width * scale) || canvas.height !== Math.round(height * scale)) {
    canvas.width = Math.round(width * scale);
    canvas.height = Math.round(height * scale);
  }
  const pen = canvas.getContext("2d");
  pen.setTransform(scale, 0, 0, scale, 0, 0);
  pen.clearRect(0, 0, width, height);
  pen.font = `600 ${fontSize()}px system-ui, sans-serif`;
  pen.lineCap = "round";
  pen.lineJoin = "round";
  return { pen, width, height };
}

const mix = (one, other, share) => one + (other - one) * share;
