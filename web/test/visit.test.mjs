// The whole visit in a real browser against the real server: from a new athlete to the report, by keyboard alone; then what
// can be put right by hand, side by side, what if, the athlete's page. One clip is measured for all of it.
import assert from 'node:assert/strict';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, Client, launch, open, passphrase, putClip, root, runsOut, seen, sizes, smallTargets, startServer, tabTo, until, useSession, watched } from './harness.mjs';

const clips = process.env.LINTEL_CLIPS_DIR ?? join(root, 'build', 'release', 'clips');
const demoClip = join(clips, 'demo.mp4');
const patient = { timeout: 150000 }; // a clip is measured in this time on a slow machine
let server, browser, owner, context, athlete, visit, trial;

before(async () => {
  assert.ok(existsSync(demoClip), `${demoClip} is there (build target demo_clips)`);
  browser = await launch();
  server = await startServer();
  owner = new Client(server.url);
  await owner.send('POST', '/owner', { name: 'Runa Feldvik', login: 'runa', organization: 'Lifting club of Skarnholm', passphrase });
  await owner.readToken();
  context = await watched(browser, server.url, { reducedMotion: 'reduce' });
  context.setDefaultTimeout(30000);
  await useSession(context, owner, server.url);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const heading = (page) => page.textContent('main.work h1');
const number = (text) => Number(/−?\d+(?:\.\d+)?/.exec(text.replace('−', '-').replace('-', '-'))?.[0] ?? NaN);
/** The page of this element is there, drawn. */
const shows = (page, element) => page.waitForFunction((name) => document.querySelector(`${name} h1`) && !document.querySelector('main.work .coming'), element, patient);
const get = async (path) => (await owner.send('GET', path)).data;

test('a whole visit by keyboard alone: new athlete, clip, tests, why, plan, report', async () => {
  const page = await context.newPage();
  const type = async (name, text) => { await tabTo(page, name); await page.keyboard.press('Control+a'); await page.keyboard.type(text); };
  const press = async (name, most) => { await tabTo(page, name, most); await page.keyboard.press('Enter'); };
  await open(page, '/athletes/new');
  await type('Name', 'Ansa Brinvik');
  await type('Stature', '170');
  await type('Body mass', '66');
  await tabTo(page, 'Female');
  await page.keyboard.press('Space');
  await press('Take in');
  await page.waitForURL(/athletes\/[0-9a-f-]{36}$/);
  await shows(page, 'page-athlete');
  athlete = page.url().split('/').at(-1);
  await press('Begin a visit');
  await page.waitForURL(/visits\/[0-9a-f-]{36}/);
  await shows(page, 'page-visit');
  visit = /visits\/([0-9a-f-]{36})/.exec(page.url())[1];
  assert.deepEqual(await axe(page), [], 'the empty visit');

  // The clip: the button opens the file chooser of the browser.
  const chooser = page.waitForEvent('filechooser');
  await press('Choose a clip');
  await (await chooser).setFiles(demoClip);
  await page.waitForURL(/\/film\/[0-9a-f-]{36}$/, patient);
  await shows(page, 'page-player');
  trial = page.url().split('/').at(-1);
  await page.waitForSelector('svg.over .bone.trunk', { state: 'attached' });
  assert.match(await page.textContent('.stage-words'), /Repetition 1 of 3, bottom/);
  const assessment = await get(`/trials/${trial}/assessment`);
  const shown = number(await page.textContent('.readout.trunk_inclination .quantity'));
  assert.ok(Math.abs(shown - assessment.repetitions[0].channels.trunk_inclination_deg.bottom.value) < 0.6, 'the number on the screen is the measured one');

  // One picture on, to the bottom of the second repetition, by keys.
  await tabTo(page, 'One picture on');
  await page.keyboard.press('Enter');
  await page.waitForFunction((frame) => document.querySelector('.stage-words').textContent.includes(`picture ${frame}`), assessment.repetitions[0].bottom.frame + 1);
  await press('To the bottom of repetition 2');
  await page.waitForFunction(() => /Repetition 2 of 3, bottom/.test(document.querySelector('.stage-words').textContent));

  await press('Test mobility', 90);
  await page.waitForURL(/\/tests$/);
  await shows(page, 'page-tests');
  await page.waitForSelector('.test-card.first', patient);
  assert.deepEqual(await axe(page), [], 'the tests');
  await open(page, `/visits/${visit}/tests/knee_to_wall_distance`);
  await type('Try 1', '6,5');
  for (const text of ['6.5', '7']) { await page.keyboard.press('Tab'); await page.keyboard.type(text); }
  for (let i = 0; i < 2; i++) await page.keyboard.press('Tab'); // past "one more try"
  await page.evaluate(() => document.querySelector('#try-right-1').focus());
  await page.keyboard.type('6');
  await page.keyboard.press('Tab');
  await page.keyboard.type('5.5');
  await page.keyboard.press('Tab');
  await page.keyboard.type('999');
  await page.keyboard.press('Enter');
  await page.waitForSelector('.field.wrong');
  assert.match(await page.textContent('.field.wrong .fault'), /Between/, 'a number out of range is told at the field');
  await page.keyboard.press('Control+a');
  await page.keyboard.type('6');
  await page.keyboard.press('Enter');
  await page.waitForURL(/\/tests$/);
  await shows(page, 'page-tests');
  const tests = await get(`/visits/${visit}/tests`);
  assert.deepEqual(tests.document.results.map((one) => one.tries_cm), [[6.5, 6.5, 7], [6, 5.5, 6]]);
  assert.match(await page.textContent('.test-done'), /short of the line/);

  await press('See why', 90);
  await page.waitForURL(/\/why/);
  await page.waitForSelector('.part', patient);
  const findings = await get(`/visits/${visit}/findings`);
  const parts = await page.$$eval('.part-name strong', (names) => names.map((one) => one.textContent));
  const largest = [...findings.explanation.parts].sort((a, b) => Math.abs(b.share_deg) - Math.abs(a.share_deg))[0];
  const words = { ankle: 'Ankle range', heel: 'Heel height', stance: 'Stance width', habit: 'Habit', toe_out: 'Toes' };
  assert.equal(parts[0], words[largest.factor], 'the largest part comes first');
  await tabTo(page, new RegExp(`^1 ${parts[0]}`), 90);
  await page.keyboard.press('Enter');
  await page.waitForSelector('.part.open .evidence li');
  assert.ok(await page.$('.ghost-trunk'), 'the picture shows the trunk without the part');

  await press('Make the plan', 90);
  await page.waitForURL(/\/plan$/);
  await shows(page, 'page-plan');
  assert.deepEqual(await axe(page), [], 'the empty plan');
  await press('Make the plan', 90);
  await page.waitForSelector('.drills .drill', patient);
  await press('On to the report', 90);
  await page.waitForURL(/\/report$/);
  await shows(page, 'page-report');
  const download = page.waitForEvent('download');
  await page.evaluate(() => document.querySelector('.paper a.button').focus());
  await page.keyboard.press('Enter');
  const file = readFileSync(await (await download).path());
  assert.equal(file.subarray(0, 5).toString(), '%PDF-', 'the page for the athlete is a PDF');
  for (const link of await page.$$eval('.paper a.button, .out-row a.button', (links) => links.map((one) => one.getAttribute('href')))) {
    const answer = await page.request.get(link);
    assert.equal(answer.status(), 200, link);
    if (link.endsWith('.pdf')) assert.equal((await answer.body()).subarray(0, 5).toString(), '%PDF-', link);
  }
  await page.close();
});

test('a page for the athlete that was made before the tests says so, and is made again', async () => {
  const page = await context.newPage();
  await open(page, `/visits/${visit}/report`);
  const unknown = /without mobility tests nobody can tell/i;
  const words = async () => {
    await page.locator('.paper', { hasText: 'Page for the athlete' }).getByRole('button', { name: 'Look at it here' }).click();
    await page.waitForSelector('lt-paper canvas', patient);
    return (await page.textContent('lt-paper .paper-words')).replace(/\s+/g, ' ');
  };
  assert.match(await page.textContent('#older'), /made before the tests of this visit/);
  assert.match(await words(), unknown, 'so the page is out of date');
  assert.deepEqual(await axe(page), []);
  const before = await get(`/trials/${trial}`);
  const again = page.locator('.right-post, aside, main').getByRole('button', { name: 'Make it again' }).first();
  await again.focus();
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => !document.querySelector('#older') && !document.querySelector('lt-paper') && !document.querySelector('main [role=alert]'), undefined, patient);
  const after = await get(`/trials/${trial}`);
  assert.equal(after.version, before.version + 2, 'the wish and what came of it are versions');
  assert.equal(after.job.kind, 'measure_again', 'from the kept points, without the pictures');
  assert.ok(after.document.measured.at > (await get(`/visits/${visit}/tests`)).changed_at);
  const now = await words();
  assert.doesNotMatch(now, unknown);
  assert.match(now, /Ansa Brinvik/);
  // Nothing new to measure with: an unchanged document asks for nothing.
  const { data } = await owner.send('PUT', `/trials/${trial}`, after.document, { 'If-Match': `"${after.version}"` });
  assert.equal(data.job.id, after.job.id);
  await page.close();
});

test('every screen of a visit: axe finds nothing, fingers find everything, words fit at every size', async () => {
  const page = await context.newPage();
  const base = `/visits/${visit}`;
  const screens = [`${base}/film`, `${base}/film/${trial}`, `${base}/film/compare`, `${base}/tests`, `${base}/tests/thoracic_rotation_heel_sit`, `${base}/tests/knee_to_wall_angle/photo`,
    `${base}/why`, `${base}/what-if`, `${base}/plan`, `${base}/report`, `${base}/live`, `/athletes/${athlete}/today`];
  for (const path of screens) {
    await page.setViewportSize(sizes.tablet);
    for (const colorScheme of ['dark', 'light']) {
      await page.emulateMedia({ colorScheme });
      await page.goto(path);
      await page.waitForFunction(() => document.querySelector('main.work h1') && !document.querySelector('main.work .coming'), undefined, patient);
      assert.deepEqual(await axe(page), [], `${path}, ${colorScheme}`);
    }
    assert.deepEqual(await smallTargets(page), [], path);
    await page.setViewportSize({ width: 360, height: 740 });
    await page.goto(path);
    await page.waitForFunction(() => document.querySelector('main.work h1') && !document.querySelector('main.work .coming'), undefined, patient);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= 360, `${path} is ${wide} px wide on a phone of 360`);
    const advice = await page.evaluate(() => Boolean(document.querySelector('.cautions')));
    assert.ok(advice || path.endsWith('/film'), `${path} carries the cautions`);
  }
  await page.close();
});

test('at 200 percent zoom nothing of a visit runs out, is cut off or lies over other words', async () => {
  const page = await context.newPage();
  const base = `/visits/${visit}`;
  const screens = [`${base}/film`, `${base}/film/${trial}`, `${base}/film/compare`, `${base}/tests`, `${base}/tests/thoracic_rotation_heel_sit`, `${base}/tests/knee_to_wall_distance/photo`,
    `${base}/why`, `${base}/what-if`, `${base}/plan`, `${base}/report`, `${base}/live`, `/athletes/${athlete}/today`, `/athletes/${athlete}`, `/records/${trial}/versions`];
  // A laptop of 1280 px and a tablet of 820 at 200 %; 320 px is a laptop at 400 %.
  for (const viewport of [{ width: 640, height: 400 }, { width: 410, height: 590 }, { width: 320, height: 640 }]) {
    await page.setViewportSize(viewport);
    for (const path of screens) {
      await page.goto(path);
      await page.waitForFunction(() => document.querySelector('main.work h1') && !document.querySelector('main.work .coming'), undefined, patient);
      assert.deepEqual(await runsOut(page), [], `${path} at ${viewport.width} px`);
    }
  }
  await page.close();
});

test('a point moved by hand changes the numbers and the decomposition; as measured is one touch away', async () => {
  const page = await context.newPage();
  const before = await get(`/trials/${trial}/assessment`);
  const sharesBefore = (await get(`/visits/${visit}/findings?assessment=${trial}`)).explanation.parts;
  await open(page, `/visits/${visit}/film/${trial}`);
  assert.match(await page.evaluate(() => document.querySelector('video').src), /\/files\/screen\.mp4$/, 'the copy that is quick to jump in');
  await page.click('text=Put points right');
  await page.waitForSelector('.handle[data-point="hip"]', patient);
  const shownBefore = await page.textContent('.readout.trunk_inclination .quantity');
  // At the bottom of every repetition the hip goes back, with the pointer, then with the keys.
  for (const repetition of before.repetitions) {
    await page.click(`button[aria-label="To the bottom of repetition ${repetition.number}"]`);
    await page.waitForFunction((n) => document.querySelector('.stage-words').textContent.startsWith(`Repetition ${n} of`) && /bottom/.test(document.querySelector('.stage-words').textContent), repetition.number);
    // Comes into view, stands still and lies under nothing else: a pointer that goes down beside the handle would move nothing.
    await page.hover('.handle[data-point="hip"]');
    const box = await (await page.waitForSelector('.handle[data-point="hip"]')).boundingBox();
    await page.mouse.down();
    await page.mouse.move(box.x + box.width / 2 - 30, box.y + box.height / 2, { steps: 4 });
    await page.mouse.up();
    await page.waitForSelector('.handle.by-hand[data-point="hip"]');
    if (repetition.number === 1) {
      await page.waitForSelector('.readout.trunk_inclination.by-hand');
      assert.notEqual(await page.textContent('.readout.trunk_inclination .quantity'), shownBefore, 'the number follows the hand at once');
      await page.focus('.handle[data-point="hip"]');
      await page.keyboard.press('Shift+ArrowLeft');
    }
  }
  // Whoever leaves right after the last move loses nothing.
  await page.click(`a[href="/visits/${visit}/tests"]`);
  const keptPoints = async () => (await get(`/trials/${trial}`)).document.corrections?.points ?? [];
  await until('every moved point is kept', async () => (await keptPoints()).length === before.repetitions.length);
  await page.goBack();
  await page.waitForFunction(() => document.querySelector('.correct')?.textContent.includes('As measured') && !document.querySelector('.correct progress') && !document.querySelector('.by-hand.readout'), undefined, patient);
  const points = await keptPoints();
  assert.equal(points.length, before.repetitions.length, 'one point a repetition was kept');
  assert.ok(points.every((one) => one.landmark.endsWith('_hip')));
  const after = await get(`/trials/${trial}/assessment`);
  const mean = (a) => a.repetitions.reduce((sum, one) => sum + one.channels.trunk_inclination_deg.bottom.value, 0) / a.repetitions.length;
  assert.ok(mean(after) > mean(before) + 0.3, `the trunk leans more with the hip further back: ${mean(before)} to ${mean(after)}`);
  const sharesAfter = (await get(`/visits/${visit}/findings?assessment=${trial}`)).explanation.parts;
  const whole = (parts) => parts.reduce((sum, part) => sum + part.share_deg, 0);
  assert.ok(whole(sharesAfter) > whole(sharesBefore) + 0.3, 'the parts explain the new lean');
  await page.click('text=As measured');
  await page.click('button[aria-label="To the bottom of repetition 1"]');
  await page.waitForFunction((text) => document.querySelector('.readout.trunk_inclination .quantity').textContent === text, shownBefore, patient);
  // An event shifted by hand.
  await page.click('text=As measured');
  await page.click('text=Put points right');
  await page.getByRole('button', { name: 'One picture on' }).click();
  await page.click('text=This is the bottom');
  await page.waitForFunction(() => document.querySelector('.correct progress'), undefined, patient).catch(() => undefined);
  await page.waitForFunction(() => !document.querySelector('.correct progress'), undefined, patient);
  const shifted = await get(`/trials/${trial}`);
  assert.deepEqual(shifted.document.corrections.events.map((one) => [one.repetition, one.event]), [[1, 'bottom']]);
  await page.close();
});

test('the figure moves with the slider; what the answer takes is told', async (t) => {
  const page = await context.newPage();
  await page.goto(`/visits/${visit}/what-if`);
  await page.waitForSelector('.what-if-result .quantity', patient);
  const trunk = () => page.evaluate(() => document.querySelector('.what-if-result .quantity').textContent);
  const figure = () => page.evaluate(() => document.querySelector('.what-if-picture .body-figure:not(.ghost) .bone.trunk').getAttribute('d'));
  const [angle, drawn] = [await trunk(), await figure()];
  await page.focus('#s-heel');
  for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowRight');
  await page.waitForFunction((text) => document.querySelector('.what-if-result .quantity').textContent !== text, angle);
  assert.notEqual(await figure(), drawn, 'the figure has moved');
  assert.match(await page.textContent('.what-if-result'), /more upright/);
  assert.ok(await page.$('.body-figure.ghost'), 'today stays as a ghost');
  // The same question on the command line's own model gives the same number.
  const asked = page.waitForRequest((request) => request.url().endsWith('/questions/what-if') && request.method() === 'POST');
  await page.keyboard.press('ArrowLeft');
  const question = (await asked).postDataJSON();
  const { data } = await owner.send('POST', '/questions/what-if', question);
  await page.waitForFunction((value) => Math.abs(Number(document.querySelector('.what-if-result .quantity').textContent.match(/\d+/)[0]) - value) < 0.51, data.after.trunk_deg);
  // Questions between two answers are forgotten, so that presses and answers are not the same number.
  const answers = () => page.evaluate(() => document.querySelector('page-what-if').answerTimes.length);
  for (let i = 0; i < 2000 && await answers() < 40; i++) await page.keyboard.press(i % 8 < 4 ? 'ArrowLeft' : 'ArrowRight');
  assert.ok(await answers() >= 40);
  const times = (await page.evaluate(() => document.querySelector('page-what-if').answerTimes)).sort((a, b) => a - b);
  t.diagnostic(`slider to figure, ${times.length} answers: median ${times[Math.floor(times.length / 2)].toFixed(0)} ms, 95th percentile ${times[Math.ceil(times.length * 0.95) - 1].toFixed(0)} ms`);
  // The best changes go on the sliders with one press, and a setup can be filmed next.
  await page.waitForSelector('.best-row', patient);
  for (let i = 0; i < 3; i++) await page.keyboard.press('ArrowRight');  // wherever the last press left it
  await page.waitForSelector('.slider.touched');
  await page.click('text=Back to today');
  await page.click('.best-row >> nth=0 >> text=See it');
  await page.waitForSelector('.slider.touched');
  await page.getByRole('link', { name: 'Film this setup', exact: true }).first().click();
  await page.waitForURL(/film\?setup=/);
  await shows(page, 'page-visit');
  assert.ok(await page.isVisible('#next-clip'), 'the setup is filled in for the next clip');
  await page.close();
});

test('two clips side by side: the same clip twice cannot be told apart', async () => {
  const second = await putClip(owner, visit, demoClip);
  const page = await context.newPage();
  await open(page, `/visits/${visit}/film/compare?a=${trial}&b=${second}`);
  await page.waitForSelector('.compare-table tbody tr', patient);
  const compared = (await owner.send('POST', `/trials/${trial}/comparison?with=${second}`)).data;
  const rows = await page.$$eval('.compare-table tbody tr', (all) => all.map((row) => [row.querySelector('th').textContent, Boolean(row.querySelector('.real-mark'))]));
  assert.equal(rows.length, compared.measures.length);
  assert.equal(rows.filter(([, real]) => real).length, compared.measures.filter((one) => one.real).length, 'as many real differences as the server says');
  await page.waitForFunction(() => [...document.querySelectorAll('video')].every((video) => video.readyState >= 2));
  const times = () => page.$$eval('video', (videos) => videos.map((video) => video.currentTime));
  const before = await times();
  await page.fill('input.scrub', '0.4');
  await page.waitForFunction((old) => [...document.querySelectorAll('video')].every((video, i) => !video.seeking && Math.abs(video.currentTime - old[i]) > 0.2), before);
  const moved = (await times()).map((time, i) => time - before[i]);
  assert.ok(moved.every((by) => Math.abs(by - 0.4) < 0.06), `both moved by the same time: ${moved}`);
  assert.deepEqual(await axe(page), []);
  await page.close();
});

test('a test from a photo: the points can be moved and the number follows', async () => {
  const page = await context.newPage();
  const record = await get(`/trials/${trial}`);
  const name = record.document.results.find((file) => /bottom\.png$/.test(file.name)).name;
  const answer = await page.request.get(`/api/v1/trials/${trial}/files/${name}`);
  await open(page, `/visits/${visit}/tests/knee_to_wall_angle/photo?side=left`);
  const chooser = page.waitForEvent('filechooser');
  await page.click('text=Choose a photo');
  await (await chooser).setFiles({ name: 'knee.png', mimeType: 'image/png', buffer: await answer.body() });
  await page.waitForSelector('.handle[data-point="knee"]', patient);
  await page.waitForSelector('.quantity.huge');
  const before = number(await page.textContent('.quantity.huge'));
  assert.match(await page.textContent('.protractor [role="status"]'), /turned away from the camera/, 'the left side of somebody who shows the right one');
  const told = page.waitForResponse((response) => response.url().includes('/test-photo') && response.url().includes('points='), patient);
  await page.focus('.handle[data-point="knee"]');
  for (let i = 0; i < 4; i++) await page.keyboard.press('Shift+ArrowRight');
  const reading = await (await told).json();
  assert.equal(reading.points.knee.placed_by, 'hand');
  await page.waitForFunction((value) => Math.abs(Number(document.querySelector('.quantity.huge').textContent.match(/\d+/)[0]) - value) < 0.51 && !document.querySelector('.handle.chosen'), reading.result_deg.value, patient);
  assert.notEqual(number(await page.textContent('.quantity.huge')), before);
  assert.deepEqual(await axe(page), []);
  await page.click('main >> text=Take this value');
  await page.waitForURL(/knee_to_wall_angle$/, patient);
  const entry = (await get(`/visits/${visit}/tests`)).document.results.find((one) => one.protocol === 'knee_to_wall_angle');
  assert.equal(entry.side, 'left');
  assert.equal(entry.tries_deg.length, 1);
  assert.deepEqual(entry.photo.moved, ['knee'], 'that the knee was moved by hand stays with the value');
  await page.close();
});

test('a distance on a photo: the length that is known comes first, its ends can be moved', async () => {
  const page = await context.newPage();
  const record = await get(`/trials/${trial}`);
  const name = record.document.results.find((file) => /bottom\.png$/.test(file.name)).name;
  const picture = await (await page.request.get(`/api/v1/trials/${trial}/files/${name}`)).body();
  await open(page, `/visits/${visit}/tests/knee_to_wall_distance/photo?side=right`);
  const chooser = page.waitForEvent('filechooser');
  await page.click('text=Choose a photo');
  await (await chooser).setFiles({ name: 'knee.png', mimeType: 'image/png', buffer: picture });
  await page.waitForSelector('.handle[data-point="length_to"]', patient);
  assert.match(await page.textContent('.protractor'), /Type the length first/);
  await page.fill('#known-length', '5000');
  await page.waitForSelector('.field.wrong');
  const first = page.waitForResponse((response) => response.url().includes('/test-photo'), patient);
  await page.fill('#known-length', '150');
  const before = await (await first).json();
  assert.equal(before.known_length.length_cm, 150);
  await page.waitForSelector('.handle[data-point="toe"]', patient);
  // The length twice as short in the picture: what is measured is about twice as long.
  const second = page.waitForResponse((response) => response.url().includes('/test-photo'), patient);
  await page.hover('.handle[data-point="length_to"]');
  const box = await page.locator('.screen').boundingBox();
  const end = await page.locator('.handle[data-point="length_to"]').boundingBox();
  await page.mouse.down();
  await page.mouse.move(end.x + end.width / 2 - box.width / 4, end.y + end.height / 2, { steps: 3 });
  await page.mouse.up();
  const after = await (await second).json();
  const length = ({ from_px: a, to_px: b }) => Math.hypot(a[0] - b[0], a[1] - b[1]);
  const ratio = length(before.known_length) / length(after.known_length);
  assert.ok(ratio > 1.8 && ratio < 2.2, `the mark follows the pointer: ${ratio}`);
  assert.ok(Math.abs(after.result_cm.value / before.result_cm.value - ratio) < 0.01);
  await page.waitForFunction((value) => Math.abs(Number(document.querySelector('.quantity.huge').textContent.match(/[\d.]+/)[0]) - value) < 0.06, after.result_cm.value, patient);
  assert.deepEqual(await axe(page), []);
  await page.close();
});

test('the practitioner’s word stands beside the finding, with its reason', async () => {
  const page = await context.newPage();
  await page.goto(`/visits/${visit}/why`);
  await page.waitForSelector('.part', patient);
  const stance = page.locator('.part', { hasText: 'Stance width' });
  await stance.locator('.part-head').click();
  await stance.locator('text=I see it otherwise').click();
  await page.waitForSelector('dialog.asked[open]');
  assert.deepEqual(await axe(page), []);
  await page.fill('dialog #reason', 'She competes in this stance and the season has begun.');
  await page.click('dialog >> text=Write it down');
  await page.waitForSelector('.part.rejected', patient);
  const word = await get(`/visits/${visit}/overrulings`);
  assert.equal(word.document.overrulings[0].finding, 'stance');
  assert.equal(word.document.overrulings[0].verdict, 'rejected');
  assert.match(await stance.textContent(), /the season has begun/);
  await page.close();
});

test('the plan is edited by hand: fewer sets, a drill left out; the computed one stays', async () => {
  const page = await context.newPage();
  await open(page, `/visits/${visit}/plan`);
  await page.waitForSelector('.drill');
  const plans = await get(`/athletes/${athlete}/plans`);
  const plan = plans.items[0];
  const [first, second] = plan.document.plan.drills;
  await page.locator('.drill').nth(0).getByRole('button', { name: 'Sets: one less' }).click();
  await page.locator('.drill').nth(1).locator('text=Leave out').click();
  await page.click('text=Save the changes');
  await page.waitForFunction((name) => document.querySelector('main [role=alert]') || ![...document.querySelectorAll('.drill h3')].some((one) => one.textContent === name), second.name, patient);
  assert.equal(await page.evaluate(() => document.querySelector('main [role=alert]')?.textContent ?? ''), '', 'the edit was taken');
  const edited = await get(`/plans/${plan.id}`);
  assert.equal(edited.version, plan.version + 1);
  assert.equal(edited.document.plan.drills.find((one) => one.id === first.id).dose.sets, first.dose.sets - 1);
  assert.ok(!edited.document.plan.drills.some((one) => one.id === second.id));
  const versions = await get(`/records/${plan.id}/versions`);
  assert.equal(versions.items.length, 2, 'the computed plan stays as the version before');
  await page.close();
});

test('the athlete’s page: a tick without a connection is kept and sent; pain stops the session', async () => {
  const made = (await owner.send('POST', '/people', { name: 'Ansa Brinvik', login: 'ansa', role: 'athlete', passphrase, athlete })).data;
  assert.ok(made);
  const client = new Client(server.url);
  await client.signIn('ansa');
  const phone = await watched(browser, server.url, { viewport: sizes.phone, hasTouch: true });
  await useSession(phone, client, server.url);
  const page = await phone.newPage();
  await open(page, '/me');
  const heads = page.locator('.today-head');
  const count = await heads.count();
  if (count === 0) { // a day of rest has no drills: go on with a day of the plan
    assert.match(await page.textContent('.empty'), /Rest today/);
    await phone.close();
    return;
  }
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(await smallTargets(page), []);
  await phone.setOffline(true);
  await page.locator('.today-drill.open .scale').first().locator('input').nth(2).check();
  await page.getByRole('button', { name: 'Done', exact: true }).click();
  await page.waitForSelector('.today-drill.done');
  assert.match(await page.textContent('.beam'), /1|waits/, 'the beam says that something waits');
  await phone.setOffline(false);
  await page.waitForFunction(async () => (await (await fetch('/api/v1/session')).json()).person);
  await page.waitForFunction(() => !document.querySelector('.beam .wait'), undefined, { timeout: 60000 });
  const log = await get(`/athletes/${athlete}/log`);
  assert.equal(log.items[0].document.drills[0].pain_during, 2, 'what was kept was sent once');
  if (count > 1) {
    await page.locator('.today-drill.open .scale').first().locator('input').nth(8).check();
    await page.waitForSelector('.today-body .sign');
    await page.click('text=Write it down and stop');
    await page.waitForSelector('.stop-now');
    assert.deepEqual(await axe(page), []);
    assert.ok(await page.evaluate(() => document.activeElement.id === 'stop-now'), 'the focus is on the rule to stop');
    await open(page, '/me');
    assert.ok(await page.$('.stop-now'), 'it stays stopped after a reload');
  }
  await phone.close();
});

test('no request left the server, no policy was violated, nothing was thrown', () => {
  assert.deepEqual(seen.foreign, []);
  assert.deepEqual(seen.violations, []);
  assert.deepEqual(seen.errors, []);
});
