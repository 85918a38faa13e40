// Prints how a long clip follows the hand on its position bar: not a test, a measurement (docs/visit-screens.md has its figures).
// usage: node web/test/scrub.mjs [CLIP] [--data FOLDER] [--runs N]
//   CLIP: a film of a squat; without one a 60 s film is made by ffmpeg from the demo clip (1080 x 1920, 30 /s, H.264, 250 pictures
//   from key to key, B-frames: as hard as phones make them). FOLDER keeps the measured clip for the next call.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { Client, clips, enterClub, launch, passphrase, placeOf, putClip, ready, startServer, useSession, watched } from './harness.mjs';

const option = (name) => (process.argv.includes(name) ? process.argv[process.argv.indexOf(name) + 1] : undefined);
const runs = Number(option('--runs') ?? 3);
const given = process.argv[2] && !process.argv[2].startsWith('--') ? process.argv[2] : undefined;

function longClip(folder) {
  const file = join(folder, 'long.mp4');
  const { status } = spawnSync('ffmpeg', ['-y', '-v', 'error', '-stream_loop', '-1', '-i', join(clips, 'demo.mp4'), '-t', '60',
    '-vf', 'scale=1080:1920:flags=bicubic,noise=alls=6:allf=t,fps=30', '-c:v', 'libx264', '-preset', 'veryfast', '-b:v', '14M',
    '-g', '250', '-keyint_min', '250', '-sc_threshold', '0', '-bf', '3', '-pix_fmt', 'yuv420p', '-movflags', '+faststart', file], { stdio: 'inherit' });
  if (status !== 0) throw new Error('ffmpeg did not make the long clip');
  return file;
}

/** In the page: notes every move of the bar, every picture, every frame of the screen that took long. */
function watchScreen() {
  const page = document.querySelector('page-player');
  const video = page.querySelector('video');
  const log = { inputs: [], pictures: [], gaps: [], tasks: [], apart: [] };
  globalThis.scrubLog = log;
  const times = page.clip.times;
  const frameAt = (time) => {
    let at = times.findIndex((one) => one > time + 0.0005) - 1;
    if (at === -2) at = times.length - 1;
    return at;
  };
  page.querySelector('.scrub').addEventListener('input', (event) => log.inputs.push({ at: performance.now(), frame: Number(event.target.value) }), { capture: true });
  const picture = (now, data) => {
    log.pictures.push({ at: performance.now(), frame: frameAt(data.mediaTime) });
    video.requestVideoFrameCallback(picture);
    // What stands over the picture when the screen is next drawn.
    queueMicrotask(() => page.updateComplete.then(() => log.apart.push(page.index - frameAt(data.mediaTime))));
  };
  video.requestVideoFrameCallback(picture);
  let last = performance.now();
  const tick = (now) => { log.gaps.push(now - last); last = now; requestAnimationFrame(tick); };
  requestAnimationFrame((now) => { last = now; requestAnimationFrame(tick); });
  new PerformanceObserver((list) => log.tasks.push(...list.getEntries().map((one) => one.duration))).observe({ type: 'longtask' });
}

/** The way of a hand over the bar: along it in 3 s, back in 2 s, then 3 s of slow looking; shares of the bar, 60 a second. */
const way = [
  ...Array.from({ length: 180 }, (_, i) => 0.03 + 0.94 * (0.5 - 0.5 * Math.cos((Math.PI * i) / 179))),
  ...Array.from({ length: 120 }, (_, i) => 0.97 - 0.77 * (0.5 - 0.5 * Math.cos((Math.PI * i) / 119))),
  ...Array.from({ length: 180 }, (_, i) => 0.2 + 0.04 * Math.sin((2 * Math.PI * i) / 120)),
];

async function drag(page) {
  await page.locator('.scrub').scrollIntoViewIfNeeded();
  const box = await page.locator('.scrub').boundingBox();
  const [y, at] = [box.y + box.height / 2, (share) => box.x + share * box.width];
  await page.mouse.move(at(way[0]), y);
  await page.mouse.down();
  const begun = performance.now();
  const sent = [];
  for (let i = 0; i < way.length; i++) {
    const wait = begun + (1000 * i) / 60 - performance.now();
    if (wait > 0) await new Promise((done) => setTimeout(done, wait));
    sent.push(page.mouse.move(at(way[i]), y));  // the next does not wait for this one, as with a hand
  }
  await Promise.all(sent);
  await page.mouse.up();
  await page.waitForTimeout(1500);  // the last picture
  return page.evaluate(() => globalThis.scrubLog);
}

const share = (values, part) => [...values].sort((a, b) => a - b)[Math.max(0, Math.ceil(part * values.length) - 1)] ?? NaN;

/** Of every move: how long until its picture, or that of a later move, is on the screen. */
function figures(log) {
  const waits = [];
  for (const [i, input] of log.inputs.entries()) {
    const later = new Set(log.inputs.slice(i).map((one) => one.frame));
    const shown = log.pictures.find((one) => one.at >= input.at && later.has(one.frame));
    waits.push(shown ? shown.at - input.at : Infinity);
  }
  const [from, to] = [log.inputs[0].at, log.inputs.at(-1).at];
  const during = log.pictures.filter((one) => one.at >= from && one.at <= to + 50);
  const changes = during.filter((one, i) => one.frame !== during[i - 1]?.frame);
  const still = changes.slice(1).map((one, i) => one.at - changes[i].at);
  return {
    seconds: (to - from) / 1000, moves: log.inputs.length, pictures: changes.length / ((to - from) / 1000),
    median: share(waits, 0.5), p95: share(waits, 0.95), longest: Math.max(...waits), standstill: Math.max(...still),
    end: log.pictures.at(-1)?.frame === log.inputs.at(-1).frame, apart: log.apart.filter((one) => one !== 0).length / Math.max(log.apart.length, 1),
    slow: log.gaps.filter((gap) => gap > 50).length, frames: log.gaps.length, longestGap: Math.max(...log.gaps), tasks: log.tasks.length, longestTask: Math.max(0, ...log.tasks),
  };
}

function tell(run, f) {
  const ms = (value) => `${value.toFixed(0)} ms`;
  console.log(`run ${run}, load ${loadavg()[0].toFixed(1)}: ${f.moves} moves in ${f.seconds.toFixed(1)} s; ${f.pictures.toFixed(1)} pictures a second; ` +
    `move to picture ${ms(f.median)} (median), ${ms(f.p95)} (95 of 100), ${ms(f.longest)} (longest); longest standstill ${ms(f.standstill)}; ` +
    `screen: ${f.slow} of ${f.frames} frames over 50 ms, longest ${ms(f.longestGap)}; long tasks ${f.tasks}, longest ${ms(f.longestTask)}; ` +
    `drawing on another frame than the picture: ${(100 * f.apart).toFixed(1)} %; ends on the last move: ${f.end ? 'yes' : 'NO'}`);
}

/** A measured long clip: what FOLDER keeps from the last call, or made now. */
async function longTrial(owner) {
  if (!film) return JSON.parse(readFileSync(note, 'utf8'));
  const { visit } = await placeOf(owner);
  const begun = performance.now();
  const trial = await putClip(owner, visit, film);
  console.log(`sent and measured in ${((performance.now() - begun) / 1000).toFixed(0)} s`);
  writeFileSync(note, JSON.stringify({ visit, trial }));
  return { visit, trial };
}

const scratch = mkdtempSync(join(tmpdir(), 'lintel-scrub-'));
const data = option('--data') ?? join(scratch, 'data');
if (!existsSync(data)) enterClub(data, false);
const note = join(data, 'scrub.json');
const film = existsSync(note) ? undefined : given ?? longClip(scratch);
const server = await startServer({ data });
let browser;
try {
  const owner = new Client(server.url);
  await owner.signIn('runa');
  const { visit, trial } = await longTrial(owner);
  browser = await launch();
  const context = await watched(browser, server.url);
  await useSession(context, owner, server.url);
  const page = await context.newPage();
  for (let run = 1; run <= runs; run++) {
    await page.goto(`/visits/${visit}/film/${trial}`);
    await ready(page);
    await page.waitForFunction(() => document.querySelector('video')?.readyState >= 2 && document.querySelector('page-player').clip.points, undefined, { timeout: 60000 });
    await page.waitForTimeout(1000);
    await page.evaluate(watchScreen);
    tell(run, figures(await drag(page)));
  }
} finally {
  await browser?.close();
  await server.stop();
  rmSync(scratch, { recursive: true, force: true });
}
