// Opens the built page in a browser, from a file as a user does, and collects every console
// message.

import { execFileSync } from "node:child_process";
import { existsSync } from "node:fs";
import { dirname, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

export const folder = resolve(dirname(fileURLToPath(import.meta.url)), "..");
export const page = resolve(process.env.CHIRRUP_PAGE ?? `${folder}/dist/chirrup.html`);
const native = process.env.CHIRRUP_NATIVE ?? `${folder}/target/debug/examples/native`;
const executablePath = ["/usr/bin/chromium", "/usr/bin/chromium-browser"].find(existsSync);

export const launch = (options) =>
  // Containers offer no sandbox; the page is our own.
  chromium.launch({ executablePath, ...options,
    args: ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"] });

export const open = (browser, options) => openFile(browser, page, options);

/** Opens a file as a user does. */
export async function openFile(browser, file, { width = 1280, height = 800, before, ...options } =
{}) {
  const context = await browser.newContext({ viewport: { width, height }, offline: true,
    locale: "en-GB", ...options });
  const tab = await context.newPage();
  const complaints = [];
  tab.on("console", (message) =>
    ["error", "warning"].includes(message.type()) && complaints.push(message.text()));
  tab.on("pageerror", (error) => complaints.push(String(error)));
  tab.on("request", (request) => {
    if (!/^(file|data|blob):/.test(request.url())) 
      complaints.push(`asked the network for ${request.url()}`);
  });
  if (before) await tab.addInitScript(before);
  await tab.goto(pathToFileURL(file).href);
  await tab.waitForFunction(() => document.documentElement.dataset.ready === "true");
  return { tab, complaints, close: () => context.close() };
}

/** The frames that the program for this machine makes of a script. */
export function nativeFrames(rate, seed, frames, script) {
  const lines = script.map(({ frame, call, values = [] }) => [frame, call, ...values].join(" "));
  const bytes = execFileSync(native, [rate, seed, frames].map(String), { input: lines.join("\n"),
    maxBuffer: 1 << 28 });
  return new Int16Array(bytes.buffer, bytes.byteOffset, bytes.length / 2);
}

/** The frames that the page's audio thread makes of it, in an offline context of the same page. */
export async function workletFrames(tab, rate, seed, frames, script) {
  const text = await tab.evaluate((asked) => window.chirrupTest.render(asked), { rate, seed, frames,
    script });
  const bytes = Buffer.from(text, "base64");
  return new Int16Array(bytes.buffer, bytes.byteOffset, bytes.length / 2);
}

/** The first place where two rows of numbers differ; -1 where they are the same. */
export function firstDifference(one, other) {
  if (one.length !== other.length) return Math.min(one.length, other.length);
  return one.findIndex((value, place) => value !== other[place]);
}
