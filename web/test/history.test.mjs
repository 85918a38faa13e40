// Earlier versions of records, own sessions, what a token may do, a lean typed in without a clip, a seat in What if: in a real
// browser against the real server with the demo club.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { arrive, axe, Client, launch, open, passphrase, placeOf, ready, seen, sizes, smallTargets, startServer, tabTo, useSession, watched } from './harness.mjs';

let server, browser, owner, practitioner, place;
const patient = { timeout: 60000 };
const context = async (client = owner, options = {}) => {
  const made = await watched(browser, server.url, { reducedMotion: 'reduce', ...options });
  await useSession(made, client, server.url);
  return made;
};
/** Writes a document anew, as somebody. */
async function put(client, path, change, reason = '') {
  const { data, etag } = await client.send('GET', path);
  const document = structuredClone(data.document);
  change(document);
  return (await client.send('PUT', `${path}?reason=${encodeURIComponent(reason)}`, document, { 'If-Match': etag })).data;
}
const versionsOf = async (record) => (await owner.send('GET', `/records/${record}/versions`)).data.items;
/** What changed, as the page tells it: {label: [before, now]}. */
const rows = (page) => page.$$eval('.changes tbody tr', (all) => Object.fromEntries(all.map((row) => [row.querySelector('th').textContent, [...row.querySelectorAll('td')].map((cell) => cell.textContent.replace(/\s+/g, ' ').trim())])));
const words = (page) => page.$eval('page-history', (element) => element.innerText);
async function client(login) {
  const made = new Client(server.url);
  await made.signIn(login);
  return made;
}
async function newVisit(date = '2026-03-03') {
  return (await owner.send('POST', `/athletes/${place.athlete}/visits`, { date, purpose: 'extra' })).data.id;
}

before(async () => {
  browser = await launch();
  server = await startServer({ caseload: 'club', more: ['--workers', '0'] });
  owner = await client('runa');
  practitioner = await client('halvar');
  place = await placeOf(owner);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

test('an athlete’s versions: who, when, why, what in words; the first one comes back on top and nothing is lost', async () => {
  const path = `/athletes/${place.athlete}`;
  const first = (await owner.send('GET', path)).data;
  await put(practitioner, path, (d) => { d.athlete.body.mass_kg = 67.5; d.athlete.setup.stance_width_cm = 41; d.equipment = ['box', 'wedge']; d.athlete.warning_signs = ['pain']; }, 'Weighed again');
  await put(owner, path, (d) => { d.athlete.warning_signs = []; d.notes = 'Prefers mornings.'; }, 'Cleared by the physiotherapist');
  const made = await context();
  const page = await made.newPage();
  await open(page, `${path}/body`);
  await tabTo(page, 'Earlier versions', 200);
  await page.keyboard.press('Enter');
  await page.waitForSelector('page-history .version');
  const list = await page.$$eval('.version', (all) => all.map((one) => one.textContent.replace(/\s+/g, ' ')));
  assert.equal(list.length, first.version + 2);
  assert.match(list[0], /as it is now.*by Runa Feldvik.*Cleared by the physiotherapist/);
  assert.match(list[1], /by Halvar .*Weighed again/);
  assert.deepEqual(await rows(page), { Notes: [first.document.notes ?? 'nothing', 'Prefers mornings.'], 'Warning signs': ['Pain', 'nothing'] });
  await page.click('.version >> nth=1');
  const told = await rows(page);
  assert.match(told['Body mass'][1], /67\.5 kg/);
  assert.deepEqual(told['Stance width'], ['34 cm', '41 cm']);
  assert.equal(told.Equipment[1], 'Box, Heel wedge');
  assert.doesNotMatch(await words(page), /[{}]|_cm|_deg|undefined|null/, 'words, no file');
  assert.match(page.url(), /version=2$/, 'the chosen one stands in the address');
  for (const colorScheme of ['dark', 'light']) {
    await page.emulateMedia({ colorScheme });
    assert.deepEqual(await axe(page), [], colorScheme);
  }
  assert.deepEqual(await smallTargets(page), []);
  // Back to the first: asks why, and makes a version on top.
  await page.click('.version >> nth=-1');
  await page.locator('main').getByRole('button', { name: 'Bring version 1 back' }).click();
  await page.waitForSelector('dialog.asked[open]');
  assert.deepEqual(await axe(page), []);
  await page.fill('#asked-line', 'the scale was wrong');
  await page.locator('dialog').getByRole('button', { name: 'Bring version 1 back' }).click();
  await page.waitForFunction((n) => document.querySelectorAll('.version').length === n, first.version + 3);
  const versions = await versionsOf(place.athlete);
  assert.equal(versions.at(-1).reason, 'Version 1 brought back: the scale was wrong');
  assert.deepEqual(versions.at(-1).document, versions[0].document);
  assert.equal(versions[1].document.athlete.body.mass_kg, 67.5, 'what was in between stays');
  assert.match(await page.textContent('main'), /the same as version 1/);
  await made.close();
});

test('somebody was faster: nothing is brought back over a change that was not seen', async () => {
  const path = `/athletes/${place.others[0]}`;
  await put(owner, path, (d) => { d.notes = 'one'; });
  const made = await context();
  const page = await made.newPage();
  await open(page, `/records/${place.others[0]}/versions?version=1`);
  await put(practitioner, path, (d) => { d.notes = 'two'; });
  await page.locator('main').getByRole('button', { name: 'Bring version 1 back' }).click();
  await page.fill('#asked-line', 'x');
  await page.keyboard.press('Enter');
  await page.waitForSelector('page-history [role=alert]');
  assert.match(await page.textContent('page-history [role=alert]'), /Somebody was faster/);
  assert.equal((await owner.send('GET', path)).data.document.notes, 'two');
  await page.click('text=Try again');
  await page.waitForFunction(() => document.querySelectorAll('.version').length === 3);
  await made.close();
});

test('tests, decisions and a plan are told in words, and each screen leads to its versions', async () => {
  const visit = await newVisit();
  const put0 = async (path, document) => (await owner.send('PUT', path, document, { 'If-Match': '"0"' })).data;
  const tests = await put0(`/visits/${visit}/tests`, { results: [{ protocol: 'knee_to_wall_distance', side: 'left', tries_cm: [8, 8.5, 9] }] });
  await put(practitioner, `/visits/${visit}/tests`, (d) => { d.results[0].tries_cm = [9, 9.5, 9]; d.results.push({ protocol: 'knee_flexion_deep_squat', side: 'right', tries_deg: [121, 122, 120], notes: 'warm' }); }, 'Mistyped');
  const word = await put0(`/visits/${visit}/overrulings`, { overrulings: [{ finding: 'stance', verdict: 'rejected', reason: 'She competes in it.' }] });
  await put(owner, `/visits/${visit}/overrulings`, (d) => { d.overrulings.push({ finding: 'stance', verdict: 'withdrawn', reason: 'The season is over.' }); });
  const plan = (await owner.send('POST', `/visits/${visit}/plan`, { minutes: 20, equipment: ['ball', 'wedge', 'pipe', 'box'] })).data;
  const drill = plan.document.plan.drills[0];
  await owner.send('PUT', `/plans/${plan.id}`, { edits: [{ drill: drill.id, sets: drill.dose.sets + 1 }], reason: 'More of it' }, { 'If-Match': '"1"' });
  const made = await context();
  const page = await made.newPage();
  const follow = async (path, link, record) => {
    await open(page, path);
    await page.getByRole('link', { name: link }).first().click();
    await arrive(page, `/records/${record}/versions`);
    await page.waitForSelector('.changes tbody tr');
    assert.deepEqual(await axe(page), [], link);
    assert.doesNotMatch(await words(page), /[{}]|_cm|_deg|undefined|null/, path);
    return rows(page);
  };
  const ofTests = await follow(`/visits/${visit}/tests`, 'Earlier versions', tests.id);
  assert.deepEqual(ofTests['Knee to wall, distance, left'], ['8 cm; 8.5 cm; 9 cm', '9 cm; 9.5 cm; 9 cm']);
  assert.match(ofTests[Object.keys(ofTests).find((name) => /right$/.test(name))][1], /121°; 122°; 120° · warm/);
  const ofWord = await follow(`/visits/${visit}/why`, 'Earlier decisions', word.id);
  assert.match(ofWord['Stance width'][1], /Taken back · The season is over\. · Runa Feldvik/);
  const ofPlan = await follow(`/visits/${visit}/plan`, 'Earlier versions', plan.id);
  assert.match(ofPlan[drill.name][0], new RegExp(`^${drill.dose.sets} × `));
  assert.match(ofPlan[drill.name][1], new RegExp(`^${drill.dose.sets + 1} × `));
  await page.click('.version >> nth=-1');
  assert.equal(await page.locator('main').getByRole('button', { name: 'Bring version 1 back' }).count(), 1);
  // One that was never changed says so and leads back.
  await open(page, `/visits/${visit}`);
  await page.getByRole('link', { name: 'Earlier versions' }).first().click();
  await page.waitForSelector('page-history .empty');
  await page.locator('.empty').getByRole('link', { name: 'Back to it' }).click();
  await arrive(page, `/visits/${visit}`);
  await made.close();
});

test('who may only read sees the versions and cannot bring one back; an assistant sees own records alone', async () => {
  const reviewer = await client('ingrid');
  const made = await context(reviewer);
  const page = await made.newPage();
  await open(page, `/records/${place.athlete}/versions?version=1`);
  assert.ok(await page.locator('.version').count() > 1);
  assert.equal(await page.getByRole('button', { name: /Bring version/ }).count(), 0);
  await made.close();
  const assistant = await client('liv');
  const own = (await assistant.send('POST', `/athletes/${place.athlete}/visits`, { date: '2026-04-01' })).data.id;
  await put(assistant, `/visits/${own}`, (d) => { d.notes = 'late'; });
  const hers = await context(assistant);
  const sheet = await hers.newPage();
  await open(sheet, `/records/${own}/versions?version=1`);
  assert.equal(await sheet.locator('main').getByRole('button', { name: 'Bring version 1 back' }).count(), 1, 'her own entry');
  await sheet.goto(`/records/${place.visit}/versions`);
  await sheet.waitForSelector('main [role=alert]');
  assert.match(await sheet.textContent('main'), /Not found|Not for this account/);
  await hers.close();
});

test('own sessions: listed, one ended, all others ended; the new passphrase is taken', async () => {
  const login = { name: 'Eskil Moen', login: 'eskil', role: 'practitioner', passphrase };
  await owner.send('POST', '/people', login);
  const [here, tablet, phone] = [await client('eskil'), await client('eskil'), await client('eskil')];
  const made = await context(here);
  const page = await made.newPage();
  await open(page, '/settings');
  await page.getByRole('link', { name: 'Where you are signed in' }).click();
  await page.waitForSelector('page-sessions [data-session]');
  assert.equal(await page.locator('[data-session]').count(), 3);
  assert.equal(await page.locator('[data-session]', { hasText: 'this browser' }).count(), 1);
  assert.match(await page.textContent('[data-session]'), /from 127\.0\.0\.1.*signed in.*last used.*ends by itself/s);
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(await smallTargets(page), []);
  const ids = (await tablet.send('GET', '/sessions')).data.items;
  const tabletId = ids.find((one) => one.current).id;
  await page.locator(`[data-session="${tabletId}"]`).getByRole('button', { name: 'End it' }).click();
  await page.locator('dialog').getByRole('button', { name: 'End it' }).click();
  await page.waitForFunction(() => document.querySelectorAll('[data-session]').length === 2);
  await assert.rejects(tablet.send('GET', '/session'), /401/);
  await page.locator('main').getByRole('button', { name: 'End all others' }).click();
  await page.locator('dialog').getByRole('button', { name: 'End all others' }).click();
  await page.waitForFunction(() => document.querySelectorAll('[data-session]').length === 1);
  await assert.rejects(phone.send('GET', '/session'), /401/);
  await here.send('GET', '/session');
  assert.match(await page.textContent('main'), /signed in nowhere else/);
  await open(page, '/settings');
  await page.getByRole('button', { name: 'Change the passphrase' }).click();
  await page.fill('#current', passphrase);
  await page.fill('#passphrase', 'kittiwake ledge rope tar');
  await page.locator('dialog').getByRole('button', { name: 'Save' }).click();
  await page.waitForFunction(() => !document.querySelector('dialog.asked'));
  const again = new Client(server.url);
  await again.signIn('eskil', 'kittiwake ledge rope tar');
  await made.close();
});

test('a token may only what was chosen, until the day that was chosen, and the list says so', async () => {
  const made = await context();
  const page = await made.newPage();
  await open(page, '/settings/tokens');
  await page.fill('#token', 'Results sheet');
  await page.getByRole('radio', { name: 'Only what is chosen' }).check();
  await page.getByRole('radio', { name: 'until a day' }).check();
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(await smallTargets(page), []);
  const day = new Date(Date.now() + 20 * 86400000).toISOString().slice(0, 10);
  await page.fill('#token-day', day);
  await page.click('text=New token');
  await page.waitForSelector('.scopes [role=alert]');
  assert.match(await page.textContent('.scopes [role=alert]'), /at least one/);
  await page.getByRole('checkbox', { name: 'list athletes' }).check();
  await page.click('button:has-text("New token")');
  await page.waitForSelector('dialog .secret');
  const secret = await page.textContent('dialog .secret');
  await page.locator('dialog').getByRole('button', { name: 'Close' }).click();
  assert.match(await page.textContent('.list'), /Results sheet.*may: list athletes/s);
  const bearer = (path) => fetch(`${server.url}/api/v1${path}`, { headers: { Authorization: `Bearer ${secret}` } });
  assert.equal((await bearer('/athletes')).status, 200);
  assert.equal((await bearer(`/athletes/${place.athlete}`)).status, 403, 'nothing beyond it');
  const [token] = (await owner.send('GET', '/tokens')).data.items;
  assert.deepEqual(token.scopes, ['read_caseload']);
  assert.equal(token.expires_at.slice(0, 10), day);
  await made.close();
});

test('without a clip: a lean typed in, with its error and how, carries Why and What if', async () => {
  const visit = await newVisit('2026-05-05');
  const made = await context();
  const page = await made.newPage();
  await open(page, `/visits/${visit}`);
  await page.click('text=No clip? Type the lean in');
  await page.fill('#trunk_angle', '480');
  await page.click('text=Take this lean');
  await page.waitForSelector('.typed-trunk .fault');
  assert.match(await page.textContent('.typed-trunk'), /Between -?−?10 and 90.*Choose how it was told/s, 'each fault at its field');
  assert.deepEqual(await axe(page), []);
  await page.fill('#trunk_angle', '48,5');
  await page.fill('#trunk_error', '4');
  await page.getByRole('radio', { name: 'inclinometer on the back' }).check();
  await page.click('text=Take this lean');
  await page.waitForFunction(() => /Lean without a clip: 48\.5° ± 4°, inclinometer/.test(document.querySelector('.typed-trunk summary').textContent));
  assert.deepEqual((await owner.send('GET', `/visits/${visit}`)).data.document.trunk, { inclination_deg: 48.5, standard_error_deg: 4, method: 'inclinometer' });
  await open(page, `/visits/${visit}/why`);
  await page.waitForSelector('.part', patient);
  assert.match(await page.textContent('page-why .lead'), /48\.5° ± 4°, inclinometer on the back/);
  assert.match(await page.textContent('.why-sentence'), /leans 4[89]° ± 4/);
  await page.locator('.part-head', { hasText: 'Habit' }).click();
  assert.match(await page.textContent('.part.open .evidence'), /typed in/, 'the evidence is no clip');
  const asked = page.waitForRequest((request) => request.url().endsWith('/questions/what-if'));
  await open(page, `/visits/${visit}/what-if`);
  assert.equal((await asked).postDataJSON().observed_deg, 48.5);
  assert.match(await page.textContent('.what-if-result'), /As it was seen/);

  // A seat: no slider until it is switched on.
  await page.waitForSelector('.best-row', patient);
  assert.equal(await page.locator('#s-surface').count(), 0);
  const seated = page.waitForRequest((request) => request.url().endsWith('/questions/what-if'));
  await page.check('#what-if-seat');
  const [change] = (await seated).postDataJSON().changes;
  assert.equal(change.lever, 'surface');
  await page.waitForFunction(() => /more upright/.test(document.querySelector('.what-if-result').textContent));
  const seatBefore = Number(await page.inputValue('#s-surface'));
  await page.focus('#s-surface');
  await page.keyboard.press('ArrowRight');
  assert.equal(Number(await page.inputValue('#s-surface')), seatBefore + 0.5);
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(await smallTargets(page), []);
  await page.uncheck('#what-if-seat');
  await page.waitForFunction(() => !document.querySelector('#s-surface') && /As it was seen/.test(document.querySelector('.what-if-result').textContent));

  await open(page, `/athletes/${place.athlete}`);
  const course = page.locator('section[aria-labelledby="trunk"]');
  assert.match(await course.textContent(), /Typed in, not filmed.*inclinometer on the back/s, 'in the course of the athlete, as what it is');
  assert.equal(await course.locator('lt-trend .trend-key', { hasText: 'Typed in' }).count(), 1, 'with a mark of its own');
  assert.equal(await course.locator('lt-trend a').first().getAttribute('href'), `/visits/${visit}`);

  await open(page, `/records/${visit}/versions`);
  assert.deepEqual(await rows(page), { 'Trunk without a clip': ['nothing', '48.5° ± 4°, inclinometer on the back'] });
  await open(page, `/visits/${visit}`);
  await page.click('text=Take it out');
  await page.waitForFunction(() => /No clip\?/.test(document.querySelector('.typed-trunk summary').textContent));
  assert.equal((await owner.send('GET', `/visits/${visit}`)).data.document.trunk, undefined);
  await made.close();
});

test('on a phone and at 200 percent nothing runs out of the picture', async () => {
  const made = await context();
  const page = await made.newPage();
  for (const path of [`/records/${place.athlete}/versions?version=2`, '/settings/sessions', '/settings/tokens', `/visits/${place.visit}`]) {
    for (const viewport of [sizes.phone, { width: 640, height: 450 }, { width: 410, height: 590 }]) {
      await page.setViewportSize(viewport);
      await open(page, path);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth);
      assert.ok(wide <= viewport.width, `${path} is ${wide} px wide at ${viewport.width}`);
    }
  }
  await made.close();
});

test('in German too: versions, sessions, scopes', async () => {
  const made = await context(owner, { locale: 'de-DE' });
  const page = await made.newPage();
  await open(page, `/records/${place.athlete}/versions?version=2`);
  assert.match(await page.textContent('main h1'), /frühere Fassungen/);
  assert.match((await rows(page))['Körpermasse'][1], /^67,5/);
  await open(page, '/settings/sessions');
  assert.match(await page.textContent('main h1'), /Wo Sie angemeldet sind/);
  await ready(page);
  await made.close();
});

test('a plan, decisions and what was put right on a clip come back as a new version', async () => {
  const visit = await newVisit('2026-06-06');
  const made = await context();
  const page = await made.newPage();
  const bringBack = async (record, n, warning) => {
    await open(page, `/records/${record}/versions?version=${n}`);
    const before = await page.locator('.version').count();
    await page.locator('main').getByRole('button', { name: `Bring version ${n} back` }).click();
    await page.waitForSelector('dialog.asked[open]');
    assert.match(await page.textContent('dialog'), warning);
    await page.fill('#asked-line', 'a slip');
    await page.locator('dialog').getByRole('button', { name: `Bring version ${n} back` }).click();
    await page.waitForFunction((count) => document.querySelectorAll('.version').length === count + 1, before, patient);
    // What counts now is not offered, nor what is the same in all that counts.
    const offered = () => page.getByRole('button', { name: /^Bring version/ }).count();
    await page.waitForFunction(() => ![...document.querySelectorAll('button')].some((button) => /^\s*Bring version/.test(button.textContent)), undefined, patient);
    await page.click(`.version >> nth=${before + 1 - n}`);
    await page.waitForSelector(`.version[aria-pressed="true"] >> text=Version ${n}`);
    assert.equal(await offered(), 0);
    return (await versionsOf(record)).at(-1);
  };
  // Decisions.
  const path = `/visits/${visit}/overrulings`;
  const word = (await owner.send('PUT', path, { overrulings: [{ finding: 'stance', verdict: 'rejected', reason: 'She competes in it.' }] }, { 'If-Match': '"0"' })).data;
  await put(practitioner, path, (d) => { d.overrulings.push({ finding: 'heel', verdict: 'asserted', size_deg: 3, reason: 'Seen.' }); });
  const decided = await bringBack(word.id, 1, /later no longer count/);
  assert.deepEqual(decided.document, word.document);
  assert.match(decided.reason, /^Version 1 brought back: a slip$/);
  // A plan: its papers are made again and tell of it.
  const plan = (await owner.send('POST', `/visits/${visit}/plan`, { minutes: 20, equipment: ['ball', 'wedge', 'pipe', 'box'] })).data;
  const [drill] = plan.document.plan.drills;
  await owner.send('PUT', `/plans/${plan.id}`, { edits: [{ drill: drill.id, leave_out: true }] }, { 'If-Match': '"1"' });
  const again = await bringBack(plan.id, 1, /papers are made again/);
  assert.deepEqual(again.document.plan.drills, plan.document.plan.drills);
  assert.match(again.document.plan.notes.at(-1), /^Version 1 brought back on .*: a slip$/);
  // A clip: the corrections alone, on what the record is otherwise.
  const bytes = new TextEncoder().encode('no film, and nobody measures it here');
  const upload = (await owner.send('POST', '/uploads', { name: 'a.mp4', bytes: bytes.length })).data.id;
  await owner.send('PUT', `/uploads/${upload}`, bytes, { 'Content-Range': `bytes 0-${bytes.length - 1}/${bytes.length}` });
  const trial = (await owner.send('POST', `/visits/${visit}/trials`, { upload, name: 'As usual', view: 'side' })).data.id;
  await put(owner, `/trials/${trial}`, (d) => { d.corrections = { points: [{ frame: 3, landmark: 'left_hip', x_px: 100, y_px: 200 }], vertical_deg: 1.5 }; }, 'hip');
  await put(owner, `/trials/${trial}`, (d) => { d.corrections = { points: [], vertical_deg: null }; d.name = 'Heels up'; }, 'all back');
  const mended = await bringBack(trial, 2, /measured anew/);
  assert.deepEqual(mended.document.corrections.points, [{ frame: 3, landmark: 'left_hip', x_px: 100, y_px: 200 }]);
  assert.equal(mended.document.corrections.vertical_deg, 1.5);
  assert.equal(mended.document.name, 'Heels up', 'only what was put right by hand');
  const jobs = (await owner.send('GET', '/jobs?state=waiting')).data.items.filter((one) => one.trial === trial);
  assert.equal(jobs.length, 1, 'it is to be measured anew');
  await made.close();
  // Who may only read is not offered it.
  const reading = await context(await client('ingrid'));
  const sheet = await reading.newPage();
  await open(sheet, `/records/${plan.id}/versions?version=2`);
  assert.equal(await sheet.getByRole('button', { name: /^Bring version/ }).count(), 0);
  await reading.close();
});

test('lean and change of What if have their errors and open to how they came about', async () => {
  const visit = await newVisit('2026-02-02'); // before anything was tested: with a stiff knee heels would change nothing that shows
  const { data, etag } = await owner.send('GET', `/visits/${visit}`);
  await owner.send('PUT', `/visits/${visit}`, { ...data.document, trunk: { inclination_deg: 48, standard_error_deg: 2, method: 'still' } }, { 'If-Match': etag });
  const made = await context();
  const page = await made.newPage();
  const toTheEnd = async (lever) => {
    const answered = page.waitForResponse((response) => response.url().endsWith('/questions/what-if') && response.request().postDataJSON().changes.length > 0);
    await page.focus(`#s-${lever}`);
    await page.keyboard.press('End');
    const answer = await (await answered).json();
    await page.waitForFunction(() => document.querySelector('page-what-if').asker.running === undefined);
    return answer;
  };
  const told = (selector) => page.$eval(selector, (element) => element.innerText.replace(/\s+/g, ' ').replaceAll('° ±', '°±').trim());
  await open(page, `/visits/${visit}/what-if`);
  assert.match(await told('.what-if-number .quantity'), /^48°± 2$/, 'as it was typed in');
  const heel = await toTheEnd('heel');
  assert.equal(heel.distinguishable, true);
  assert.ok(Math.abs(heel.after_trunk_error_deg - Math.hypot(2, heel.trunk_change_error_deg)) < 1e-3);
  const size = (value, error) => `${value.toFixed(error < 0.95 ? 1 : 0)}°± ${error.toFixed(error < 0.95 ? 1 : 0)}`;
  assert.ok((await told('.what-if-result')).includes(`${size(-heel.trunk_change_deg, heel.trunk_change_error_deg)} more upright`));
  // By keyboard.
  await tabTo(page, /How the numbers came about/, 200);
  await page.keyboard.press('Enter');
  await page.waitForSelector('dialog.asked[open]');
  const dialog = await told('dialog');
  for (const part of ['Today 48°± 2', 'Change −', 'Afterwards', 'read off a picture', 'larger than twice its error', '60 bodies']) assert.ok(dialog.includes(part), `${part}: ${dialog}`);
  assert.equal(await page.locator('dialog tbody tr').count(), heel.error_parts.length);
  assert.doesNotMatch(dialog, /[{}]|_deg|undefined|NaN/);
  for (const colorScheme of ['dark', 'light']) {
    await page.emulateMedia({ colorScheme });
    assert.deepEqual(await axe(page), [], colorScheme);
  }
  assert.deepEqual(await smallTargets(page), []);
  await page.keyboard.press('Escape');
  await page.getByRole('button', { name: 'Back to today' }).click();
  await page.waitForFunction(() => /As it was seen/.test(document.querySelector('.what-if-result').textContent));
  // A change that may as well be none says so.
  const grip = await toTheEnd('grip');
  assert.equal(grip.distinguishable, false);
  assert.match(await told('.what-if-result'), /Not distinguishable from today: [+−]?[.\d]+°± /);
  await page.click('.what-if-number');
  await page.waitForSelector('dialog.asked[open]');
  assert.match(await told('dialog'), /may as well be none/);
  await made.close();
});

test('no request left the server, no policy was violated, nothing was thrown', () => {
  assert.deepEqual(seen.foreign, []);
  assert.deepEqual(seen.violations, []);
  assert.deepEqual(seen.errors, []);
});
