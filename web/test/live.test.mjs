// The live view in a real browser: Chromium's own false camera shows the demo clip.
import assert from 'node:assert/strict';
import { existsSync, readFileSync, rmSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, Client, launch, open, passphrase, root, seen, startServer, useSession, watched } from './harness.mjs';

const clips = process.env.LINTEL_CLIPS_DIR ?? join(root, 'build', 'release', 'clips');
const folder = mkdtempSync(join(tmpdir(), 'lintel-camera-'));
let server, browser, owner;

/** Pictures of the bottom of the squat, drawn by the browser itself, one JPEG after the other: a camera file. */
async function cameraFile() {
  const drawer = await launch();
  const page = await drawer.newPage();
  const film = `data:video/mp4;base64,${readFileSync(join(clips, 'demo.mp4')).toString('base64')}`;
  const pictures = await page.evaluate(async (source) => {
    const video = document.createElement('video');
    video.src = source;
    video.muted = true;
    await new Promise((done, fail) => { video.onloadeddata = done; video.onerror = () => fail(new Error('the clip cannot be played')); });
    const canvas = document.createElement('canvas');
    [canvas.width, canvas.height] = [video.videoWidth, video.videoHeight];
    const taken = [];
    for (const time of [0.2, 1.9, 1.95, 2.0, 2.05]) {
      video.currentTime = time;
      await new Promise((done) => { video.onseeked = done; });
      canvas.getContext('2d').drawImage(video, 0, 0);
      taken.push(canvas.toDataURL('image/jpeg', 0.9).split(',')[1]);
    }
    return taken;
  }, film);
  await drawer.close();
  const file = join(folder, 'camera.mjpeg');
  const [standing, ...low] = pictures.map((one) => Buffer.from(one, 'base64'));
  writeFileSync(file, Buffer.concat([...Array(8).fill(standing), ...Array(12).fill(low).flat()]));
  return file;
}

before(async () => {
  assert.ok(existsSync(join(clips, 'demo.mp4')), 'the demo clip is there (build target demo_clips)');
  const file = await cameraFile();
  browser = await launch(['--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream', `--use-file-for-fake-video-capture=${file}`, '--autoplay-policy=no-user-gesture-required']);
  server = await startServer({ more: ['--workers', '0'] });
  owner = new Client(server.url);
  await owner.send('POST', '/owner', { name: 'Runa Feldvik', login: 'runa', organization: 'Lifting club of Skarnholm', passphrase });
  await owner.readToken();
});
after(async () => {
  await browser?.close();
  await server?.stop();
  rmSync(folder, { recursive: true, force: true });
});

test('the figure lies over the camera’s picture, and the tone’s limit shows', async (t) => {
  const context = await watched(browser, server.url, { permissions: ['camera'], reducedMotion: 'reduce' });
  await useSession(context, owner, server.url);
  const page = await context.newPage();
  await open(page, '/live');
  assert.deepEqual(await axe(page), []);
  await page.click('text=Start the camera');
  await page.waitForSelector('svg.over .bone.trunk', { state: 'attached', timeout: 120000 });
  // Standing and squatting follow one another: the lean comes and goes.
  await page.waitForFunction(() => Number(document.querySelector('.live-number .quantity')?.textContent.match(/\d+/)?.[0]) > 25, undefined, { timeout: 120000 });
  await page.focus('#live-limit');
  await page.keyboard.press('Home');
  await page.waitForSelector('.live-screen.beyond', { timeout: 120000 });
  assert.match(await page.textContent('.live-number'), /beyond 10°/);
  await page.waitForFunction(() => Number(document.querySelector('.live-rate').dataset.rate) > 0);
  const { rate, delay } = await page.evaluate(() => ({ ...document.querySelector('.live-rate').dataset }));
  t.diagnostic(`live view: ${rate} pictures a second, ${delay} ms behind`);
  assert.match(await page.textContent('.live-rate'), /pictures a second, \d+ ms behind/, 'it says what it reaches');
  assert.deepEqual(await axe(page), []);
  await page.click('text=Stop the camera');
  await page.waitForSelector('text=Start the camera');
  assert.equal(await page.evaluate(() => document.querySelector('video').srcObject?.getTracks().some((track) => track.readyState === 'live') ?? false), false, 'the camera is off');
  await context.close();
  assert.deepEqual(seen.errors, []);
  assert.deepEqual(seen.violations, []);
  assert.deepEqual(seen.foreign, []);
});
