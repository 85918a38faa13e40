// What somebody typed is not lost: not to a redrawing, to an answer that comes late, to a second press, to somebody else's
// change, to a page that is left, to a connection that breaks.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { arrive, axe, Client, inTheClub, open, passphrase, ready, seen, until } from './harness.mjs';

const club = inTheClub({ reducedMotion: 'reduce', serviceWorkers: 'block' });
const { context, get } = club;
const save = (page) => page.getByRole('button', { name: 'Save' }).first().click();
/** Requests of a kind wait until `go` is called; `sent` holds how many there were. */
async function holdBack(page, method, pattern) {
  let go;
  const held = { sent: 0, go: () => go(), free: new Promise((done) => { go = done; }) };
  await page.route(pattern, async (route) => {
    if (route.request().method() !== method) return route.fallback();
    held.sent++;
    await held.free;
    return route.continue();
  });
  return held;
}
const anAthlete = async (name) => (await club.owner.send('POST', '/athletes', { schema: 'lintel-intake-1', athlete: { schema: 'lintel-athlete-1', name, sex: 'male', body: { stature_cm: 178, mass_kg: 80 } } })).data.id;
const aVisit = async (athlete = club.place.athlete) => (await club.owner.send('POST', `/athletes/${athlete}/visits`, { date: '2026-03-02', purpose: 'Re-test' })).data.id;

test('a fault at one field takes no tick and no choice away', async () => {
  const made = await context();
  const page = await made.newPage();
  const athlete = await anAthlete('Nils Torgersvik');
  await open(page, `/athletes/${athlete}/body`);
  await page.getByLabel('Pregnancy').check();
  await page.fill('#mass_kg', 'much');
  await save(page);
  await page.waitForSelector('#mass_kg-fault');
  assert.ok(await page.getByLabel('Pregnancy').isChecked());
  await page.fill('#mass_kg', '71');
  await save(page);
  await arrive(page, `/athletes/${athlete}`);
  assert.deepEqual((await get(`/athletes/${athlete}`)).document.athlete.warning_signs, ['pregnancy']);
  await open(page, '/athletes/new');
  await page.locator('#consent').check();
  await page.getByRole('button', { name: 'Take in' }).click();
  await page.waitForSelector('#name-fault');
  assert.ok(await page.locator('#consent').isChecked());
  await made.close();
});

test('two people change one athlete: both changes are stored', async () => {
  const made = await context();
  const page = await made.newPage();
  const athlete = await anAthlete('Odd Hellevang');
  await open(page, `/athletes/${athlete}/body`);
  const { data, etag } = await club.owner.send('GET', `/athletes/${athlete}`);
  const theirs = structuredClone(data.document);
  theirs.notes = 'meanwhile';
  theirs.athlete.warning_signs = [...(theirs.athlete.warning_signs ?? []), 'fever'];
  await club.owner.send('PUT', `/athletes/${athlete}`, theirs, { 'If-Match': etag });
  await page.fill('#sport', 'Weightlifting');
  await page.getByLabel('Pregnancy').check();
  await save(page);
  await arrive(page, `/athletes/${athlete}`);
  const { document } = await get(`/athletes/${athlete}`);
  assert.deepEqual([document.sport, document.notes], ['Weightlifting', 'meanwhile']);
  for (const sign of ['fever', 'pregnancy']) assert.ok(document.athlete.warning_signs.includes(sign), sign);
  await made.close();
});

test('two people enter tests of one visit: both stay, and what was not touched stays as exact as it was', async () => {
  const made = await context();
  const page = await made.newPage();
  const visit = await aVisit();
  const put = async (results) => {
    const { data } = await club.owner.send('GET', `/visits/${visit}/tests`);
    await club.owner.send('PUT', `/visits/${visit}/tests`, { ...data.document, results }, { 'If-Match': `"${data.version}"` });
  };
  const exact = { protocol: 'knee_to_wall_angle', side: 'right', tries_deg: [41.27, 42.33, 40.91] };
  const other = { protocol: 'hip_flexion_supine', side: 'left', tries_deg: [110] };
  await put([exact]);
  await open(page, `/visits/${visit}/tests/knee_to_wall_angle`);
  await put([exact, other]);
  for (const [i, value] of ['38', '39', '38.5'].entries()) await page.fill(`#try-left-${i + 1}`, value);
  await page.fill('#try-right-2', '43');
  await save(page);
  await arrive(page, `/visits/${visit}/tests`);
  const { results } = (await get(`/visits/${visit}/tests`)).document;
  const tries = (protocol, side) => results.find((one) => one.protocol === protocol && one.side === side)?.tries_deg;
  assert.deepEqual(tries('knee_to_wall_angle', 'left'), [38, 39, 38.5]);
  assert.deepEqual(tries('knee_to_wall_angle', 'right'), [41.27, 43, 40.91]);
  assert.deepEqual(tries('hip_flexion_supine', 'left'), [110], 'the colleague’s test is still there');

  // Both the same test: told, and what was typed is still there after looking.
  await open(page, `/visits/${visit}/tests/hip_flexion_supine`);
  await put(results.map((one) => (one.protocol === 'hip_flexion_supine' ? { ...one, tries_deg: [100] } : one)));
  await page.fill('#try-left-1', '120');
  await save(page);
  await page.waitForSelector('[role=alert]');
  assert.match(await page.textContent('[role=alert]'), /Somebody was faster/);
  await page.getByRole('button', { name: 'Try again' }).click();
  await page.waitForSelector('[role=alert]', { state: 'detached' });
  assert.equal(await page.inputValue('#try-left-1'), '120');
  assert.match(await page.locator('fieldset.side').first().textContent(), /100/, 'theirs is in sight');
  await save(page);
  await arrive(page, `/visits/${visit}/tests`);
  assert.deepEqual((await get(`/visits/${visit}/tests`)).document.results.find((one) => one.protocol === 'hip_flexion_supine').tries_deg, [120]);
  await made.close();
});

test('two tests entered without a connection both arrive; on the way they are seen', async () => {
  const made = await context({ serviceWorkers: 'allow' });
  const page = await made.newPage();
  const visit = await aVisit();
  await open(page, '/');
  await page.waitForFunction(() => navigator.serviceWorker.controller);
  const tests = ['hip_flexion_supine', 'shoulder_flexion_supine'];
  for (const path of ['', ...tests.map((one) => `/${one}`)]) await open(page, `/visits/${visit}/tests${path}`);
  await made.setOffline(true);
  for (const one of tests) {
    await open(page, `/visits/${visit}/tests/${one}`);
    await page.fill('#try-left-1', '100');
    await save(page);
    await arrive(page, `/visits/${visit}/tests`);
    await ready(page);
    await page.getByText('Kept on this device').first().waitFor();
  }
  await open(page, `/visits/${visit}/tests/${tests[0]}`);
  assert.equal(await page.inputValue('#try-left-1'), '100');
  assert.equal(await page.locator('.ruler [d*=NaN], .ruler [x*=NaN]').count(), 0, 'a norm without a spread has no band');
  await made.setOffline(false);
  await page.waitForFunction(() => !document.querySelector('.beam .wait'));
  assert.deepEqual((await get(`/visits/${visit}/tests`)).document.results.map((one) => one.protocol).sort(), [...tests].sort());
  await made.close();
});

test('what waits of one person is not thrown away when another signs out', async () => {
  const made = await context({}, null);
  const page = await made.newPage();
  const visit = await aVisit();
  const signIn = async (login, to) => {
    await page.goto(`/sign-in?to=${encodeURIComponent(to)}`);
    await ready(page);
    await page.fill('#login', login);
    await page.fill('#passphrase', passphrase);
    await page.click('button[type=submit]');
    await arrive(page, to);
    await ready(page);
  };
  await signIn('halvar', `/visits/${visit}/tests/knee_to_wall_angle`);
  await page.route('**/tests', (route) => (route.request().method() === 'PUT' ? route.abort() : route.fallback()));
  await page.fill('#try-left-1', '37');
  await save(page);
  await arrive(page, `/visits/${visit}/tests`);
  await made.clearCookies(); // the session has ended
  await signIn('runa', '/settings');
  assert.equal(await page.getByText('Waits on this device').count(), 0);
  await page.getByRole('button', { name: 'Sign out' }).click();
  await arrive(page, '/sign-in');
  await page.unroute('**/tests');
  await signIn('halvar', '/settings');
  await until('it is sent', async () => (await get(`/visits/${visit}/tests`)).document.results.length === 1);
  await made.close();
});

test('pressed twice, and answered by nobody: one visit, one athlete', async () => {
  const made = await context();
  const page = await made.newPage();
  const athlete = await anAthlete('Brage Solbakk');
  const visits = async () => (await get(`/athletes/${athlete}/visits`)).items.length;
  const before = await visits();
  await open(page, `/athletes/${athlete}`);
  const held = await holdBack(page, 'POST', '**/visits');
  const begin = page.locator('aside.right').getByRole('button', { name: 'Begin a visit' });
  await begin.click();
  await begin.click();
  held.go();
  await arrive(page, /^\/visits\//);
  assert.deepEqual([await visits() - before, held.sent], [1, 1]);

  const named = async () => (await get('/athletes?limit=500')).items.filter((one) => one.name === 'Torvald Eikenes').length;
  await open(page, '/athletes/new');
  await page.fill('#name', 'Torvald Eikenes');
  await page.fill('#stature_cm', '181');
  await page.fill('#mass_kg', '84');
  await page.getByRole('radio', { name: 'Male', exact: true }).check();
  await page.route('**/api/v1/athletes', async (route) => { await route.fetch(); await route.abort(); }, { times: 1 }); // it arrives; its answer does not
  await page.getByRole('button', { name: 'Take in' }).click();
  await page.waitForSelector('[role=alert]');
  assert.equal(await named(), 1);
  await page.getByRole('button', { name: 'Take in' }).click();
  await arrive(page, /^\/athletes\/[0-9a-f-]{36}$/);
  assert.equal(await named(), 1);
  await made.close();
});

test('what is changed in a plan while an earlier change is stored stays', async () => {
  const made = await context();
  const page = await made.newPage();
  const { athlete } = club.place;
  const plan = (await get(`/athletes/${athlete}/plans`)).items[0];
  await open(page, `/visits/${plan.document.visit}/plan`);
  const held = await holdBack(page, 'PUT', '**/plans/*');
  const drills = page.locator('.drill');
  await drills.nth(0).getByRole('button', { name: 'Sets: one less' }).click();
  await page.locator('.save-bar').getByRole('button').first().click();
  await drills.nth(1).getByRole('button', { name: 'Sets: one less' }).click();
  held.go();
  await page.waitForFunction(() => document.querySelectorAll('.drill.edited').length === 1);
  await page.getByRole('link', { name: 'To the caseload' }).click();
  await page.locator('dialog').getByRole('button', { name: 'Stay' }).click();
  await page.locator('.save-bar').getByRole('button').first().click();
  await page.locator('.save-bar').waitFor({ state: 'detached' });
  const { edits } = (await get(`/athletes/${athlete}/plans`)).items.find((one) => one.id === plan.id).document;
  assert.deepEqual(edits.slice(-2).map((one) => one.drill), plan.document.plan.drills.slice(0, 2).map((one) => one.id));
  await made.close();
});

test('what the athlete wrote down without a connection is still written after a reload, and still stops the session', async () => {
  const made = await context();
  const page = await made.newPage();
  const { athlete } = club.place;
  const plan = (await get(`/athletes/${athlete}/plans`)).items[0].document.plan;
  const date = plan.schedule.flatMap((week) => week.sessions).find((session) => session.items.length > 1).date;
  const day = await get(`/athletes/${athlete}/today?date=${date}`);
  day.items.forEach((item) => { item.done = false; item.logged = null; });
  await page.route('**/today?date=*', (route) => route.fulfill({ json: day }));
  await page.route('**/log', (route) => route.abort());
  await open(page, `/athletes/${athlete}/today`);
  const tell = async (pain, words) => {
    await page.locator('.today-drill.open .scale').first().locator('input').nth(pain).check();
    await page.getByText(words, { exact: true }).click();
  };
  await tell(1, 'Done');
  await page.waitForFunction(() => document.querySelectorAll('.today-drill.done').length === 1);
  await open(page, `/athletes/${athlete}/today`);
  assert.equal(await page.locator('.today-drill.done').count(), 1);
  await tell(8, 'Write it down and stop');
  await page.waitForSelector('.stop-now');
  await open(page, `/athletes/${athlete}/today`);
  await page.waitForSelector('.stop-now');
  await made.close();
});

test('reading a visit anew leaves what is typed for the next clip; a clip goes on when the page is left', async () => {
  const made = await context();
  const page = await made.newPage();
  const visit = await aVisit();
  await open(page, `/visits/${visit}/film?setup=heel_elevation_cm:2.5`);
  await page.fill('#clip-name', 'Raised heels, third try');
  await page.fill('#next-stance_width_cm', '44');
  await page.locator('#next-stance_width_cm').blur();
  await page.evaluate(() => document.querySelector('page-visit').reload()); // as when another clip has been measured
  assert.deepEqual([await page.inputValue('#clip-name'), await page.inputValue('#next-stance_width_cm')], ['Raised heels, third try', '44']);
  const held = await holdBack(page, 'PUT', '**/uploads/*');
  await page.setInputFiles('#clip-file', { name: 'squat.mp4', mimeType: 'video/mp4', buffer: Buffer.alloc(50_000, 7) });
  await page.waitForSelector('#sending');
  await page.locator('aside.right').getByRole('link', { name: 'Test mobility' }).click(); // what the page itself proposes meanwhile
  await arrive(page, `/visits/${visit}/tests`);
  await page.goBack();
  await page.waitForSelector('#sending');
  held.go();
  await page.waitForSelector('.clip-card');
  const trials = (await get(`/visits/${visit}/trials`)).items;
  assert.deepEqual(trials.map((one) => [one.document.name, one.document.setup.stance_width_cm, one.document.setup.heel_elevation_cm]), [['Raised heels, third try', 44, 2.5]]);
  await made.close();
});

test('the word of a practitioner goes under a colleague’s; about the same finding one looks first, and the reason is kept', async () => {
  const made = await context();
  const page = await made.newPage();
  const { visit } = club.place;
  await open(page, `/visits/${visit}/why`);
  const theirs = async (finding) => {
    const { data } = await club.owner.send('GET', `/visits/${visit}/overrulings`);
    const word = { finding, verdict: 'rejected', reason: 'Theirs.', who: 'Halvar', date: '2026-03-02' };
    await club.owner.send('PUT', `/visits/${visit}/overrulings`, { ...data.document, overrulings: [...data.document.overrulings, word] }, { 'If-Match': `"${data.version}"` });
  };
  const openPart = async (n) => {
    await page.locator('.part-head').nth(n).click();
    await page.locator('.part.open').getByRole('button', { name: 'I see it otherwise' }).click();
  };
  const write = async (reason) => {
    await page.locator('dialog textarea').fill(reason);
    await page.locator('dialog').getByRole('button', { name: 'Write it down' }).click();
  };
  const findings = (await get(`/visits/${visit}/findings`)).findings.map((one) => one.id);
  await theirs(findings.at(-1));
  await openPart(0);
  await write('Mine, of another finding.');
  await page.getByText('Mine, of another finding.').first().waitFor();
  const kept = (await get(`/visits/${visit}/overrulings`)).document.overrulings;
  assert.deepEqual(kept.map((one) => one.reason), ['Theirs.', 'Mine, of another finding.']);
  await page.locator('.part-head').nth(0).click();
  await page.locator('.part-head').nth(1).click();
  const second = page.locator('.part.open').getByRole('button', { name: 'I see it otherwise' });
  await second.click();
  await page.locator('dialog textarea').fill('Mine, of the same.');
  const same = await page.evaluate(() => document.querySelector('page-why').answer.explanation.parts.map((part) => part.factor));
  for (const factor of same) if (findings.includes(factor)) await theirs(factor);
  await page.locator('dialog').getByRole('button', { name: 'Write it down' }).click();
  await page.waitForSelector('.part.open [role=alert]');
  assert.match(await page.textContent('.part.open [role=alert]'), /Somebody was faster/);
  assert.ok(!(await get(`/visits/${visit}/overrulings`)).document.overrulings.some((one) => one.reason === 'Mine, of the same.'));
  await made.close();
});

test('a point moved on a photo counts, however soon the value is taken, and is taken once', async () => {
  const made = await context();
  const page = await made.newPage();
  const visit = await aVisit();
  await page.clock.install();
  const asked = [];
  let go;
  const held = new Promise((done) => { go = done; });
  await page.route('**/test-photo?*', async (route) => {
    const query = new URL(route.request().url()).searchParams;
    const points = JSON.parse(query.get('points') ?? '{}');
    asked.push({ keep: query.get('keep') === 'true', points });
    if (query.get('keep') === 'true') await held;
    const value = points.right_knee ? 41 : 30; // as if the moved point made the difference
    const at = (x, y) => ({ position_px: [x, y], placed_by: 'network' });
    await route.fulfill({ json: { points: { right_knee: at(40, 30), right_ankle: at(40, 60) }, originals: {}, result_deg: { value, standard_error: 2 },
      record_entry: { protocol: 'knee_to_wall_angle', side: 'left', tries_deg: [value] } } });
  });
  await open(page, `/visits/${visit}/tests/knee_to_wall_angle/photo?side=left`);
  const png = await page.evaluate(() => { const c = document.createElement('canvas'); c.width = 80; c.height = 80; return c.toDataURL('image/png').split(',')[1]; });
  await page.setInputFiles('#photo-file', { name: 'knee.png', mimeType: 'image/png', buffer: Buffer.from(png, 'base64') });
  await page.getByText('30°').first().waitFor();
  await page.locator('[data-point=right_knee]').focus();
  await page.keyboard.press('ArrowRight');
  const take = page.locator('aside.right').getByRole('button', { name: 'Take' });
  await take.click();
  await page.clock.runFor(1000); // the question that the move had put off
  go();
  await arrive(page, `/visits/${visit}/tests/knee_to_wall_angle`);
  assert.deepEqual(asked.filter((one) => one.keep).length, 1);
  assert.deepEqual((await get(`/visits/${visit}/tests`)).document.results.map((one) => one.tries_deg), [[41]]);
  await made.close();
});

test('typed tries ask before they are left; a search does not follow to another page', async () => {
  const made = await context();
  const page = await made.newPage();
  const visit = await aVisit();
  await open(page, `/visits/${visit}/tests/knee_to_wall_angle`);
  await page.fill('#try-left-1', '39');
  await page.locator('aside.right').getByRole('link', { name: 'All tests' }).click();
  assert.deepEqual(await axe(page), []);
  await page.locator('dialog').getByRole('button', { name: 'Stay' }).click();
  assert.equal(await page.inputValue('#try-left-1'), '39');
  await page.fill('#try-left-1', '');
  await page.locator('aside.right').getByRole('link', { name: 'All tests' }).click();
  await arrive(page, `/visits/${visit}/tests`);

  await page.clock.install();
  await open(page, '/');
  await page.locator('#search').pressSequentially('Ans');
  const row = page.locator('a.person').first();
  const to = await row.getAttribute('href');
  await row.click();
  await page.waitForFunction((path) => document.querySelector('main.work')?.dataset.path === path, to);
  await page.clock.runFor(500);
  assert.equal(new URL(page.url()).search, '');
  await made.close();
});

test('a page that was not reached is there as soon as the server is, though the line was back before', async () => {
  const made = await context();
  const page = await made.newPage();
  let fails = 2; // at the first look, and when the line is back
  await page.route('**/api/v1/athletes/*', (route) => (fails-- > 0 ? route.abort() : route.fallback()));
  await page.goto(`/athletes/${club.place.athlete}`);
  await page.waitForSelector('[role=alert]');
  await page.evaluate(() => dispatchEvent(new Event('online')));
  await page.waitForFunction(() => document.querySelector('h1')?.textContent.includes('Ansa Brinvik'));
  await made.close();
});

test('no camera stays on after the page was left while one was asked for leave', async () => {
  const made = await context();
  const page = await made.newPage();
  await page.addInitScript(() => {
    const stream = document.createElement('canvas').captureStream();
    globalThis.camera = stream.getTracks()[0];
    navigator.mediaDevices.getUserMedia = () => new Promise((done) => { globalThis.allow = () => done(stream); });
  });
  await open(page, '/live');
  await page.locator('.live-start button').click();
  await page.waitForFunction(() => globalThis.allow);
  await page.getByRole('link', { name: 'To the caseload' }).click();
  await arrive(page, '/');
  await ready(page);
  await page.evaluate(() => globalThis.allow());
  await page.waitForFunction(() => globalThis.camera.readyState === 'ended');
  await made.close();
});

test('no request left the server, no policy was violated, nothing was thrown', () => {
  assert.deepEqual(seen, { foreign: [], violations: [], errors: [] });
});
