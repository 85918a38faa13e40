// The shell's screens in a real browser against the real server.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { arrive, axe, Client, inTheClub, open, passphrase, ready, runsOut, seen, sizes, smallTargets, startServer, tabTo, watched } from './harness.mjs';

const club = inTheClub();
const { context } = club;
const screens = () => ['/', '/?view=due', '/athletes/new', `/athletes/${club.place.athlete}`, `/athletes/${club.place.athlete}/body`, '/settings', '/settings/people',
  '/settings/tokens', '/settings/sessions', `/records/${club.place.athlete}/versions`, '/settings/safekeeping', '/settings/audit', '/protocols', '/protocols/knee_to_wall_distance', '/drills', '/drills/slow-heel-drop', '/nowhere'];

test('from the first start to an athlete by keyboard alone', async (t) => {
  const empty = await startServer({ more: ['--workers', '0'] });
  t.after(() => empty.stop());
  const made = await watched(club.browser, empty.url);
  const page = await made.newPage();
  await page.goto('/');
  await arrive(page, '/start');
  await ready(page);
  assert.deepEqual(await axe(page), []);
  const type = async (name, text) => { await tabTo(page, name); await page.keyboard.type(text); };
  await type('Name of the club or practice', 'Lifting club of Skarnholm');
  await type('Your name', 'Runa Feldvik');
  await type('Login', 'runa');
  await type('Passphrase', 'short');
  await type('The same once more', 'short');
  await page.keyboard.press('Enter');
  await page.waitForSelector('[aria-invalid="true"]');
  assert.equal(await page.evaluate(() => document.activeElement.id), 'passphrase', 'the focus goes to what is wrong');
  await page.keyboard.press('Control+a');
  await page.keyboard.type(passphrase);
  await tabTo(page, 'The same once more');
  await page.keyboard.press('Control+a');
  await page.keyboard.type(passphrase);
  await page.keyboard.press('Enter');
  await arrive(page, '/');
  await ready(page);
  await tabTo(page, 'New athlete');
  await page.keyboard.press('Enter');
  await arrive(page, '/athletes/new');
  await ready(page);
  await type('Name', 'Ketil Sundgaard');
  await type('Stature', '178,5');
  await type('Body mass', '82');
  await tabTo(page, 'Female');
  await page.keyboard.press('ArrowRight');
  await tabTo(page, 'Take in');
  await page.keyboard.press('Enter');
  await arrive(page, /^\/athletes\/[0-9a-f-]{36}$/);
  await ready(page);
  assert.match(await page.textContent('h1'), /Ketil Sundgaard/);
  assert.match(await page.textContent('.facts'), /179\u202fcm|178\.5/);
  await made.close();
});

for (const colorScheme of ['light', 'dark']) {
  test(`axe finds nothing on any screen, ${colorScheme}`, async () => {
    const made = await context({ colorScheme });
    const page = await made.newPage();
    for (const path of screens()) {
      await open(page, path);
      assert.deepEqual(await axe(page), [], `${path}, ${colorScheme}`);
    }
    await made.close();
  });
}

test('every target is as large as a fingertip', async () => {
  const made = await context({ viewport: sizes.phone, hasTouch: true });
  const page = await made.newPage();
  for (const path of screens()) {
    await open(page, path);
    assert.deepEqual(await smallTargets(page), [], path);
  }
  await made.close();
});

test('no screen scrolls sideways, on a phone and at 200 percent on a tablet', async () => {
  for (const viewport of [sizes.phone, { width: sizes.tablet.width / 2, height: sizes.tablet.height / 2 }, { width: 320, height: 640 }]) {
    const made = await context({ viewport });
    const page = await made.newPage();
    for (const path of screens()) {
      await open(page, path);
      assert.deepEqual(await runsOut(page), [], `${path} at ${viewport.width} px`);
    }
    await made.close();
  }
});

test('nothing moves for those who asked for that', async () => {
  const made = await context({ reducedMotion: 'reduce' });
  const page = await made.newPage();
  let answer;
  const looked = new Promise((go) => { answer = go; });
  await page.route('**/api/v1/athletes?*', async (route) => { await looked; await route.continue(); });
  await page.goto('/');
  // In one go: the page may draw the sign anew at any moment.
  const seen = await page.waitForFunction(() => {
    const sign = document.querySelector('.coming .swing');
    if (!sign) return null;
    const { animationName, animationDuration } = getComputedStyle(sign);
    const still = animationName === 'none' || animationDuration.split(',').every((one) => parseFloat(one) < 0.001);
    return { still, animationName, animationDuration };
  });
  const swing = await seen.jsonValue();
  assert.ok(swing.still, `the plumb line swings: ${swing.animationName}, ${swing.animationDuration}`);
  answer();
  await ready(page);
  assert.ok(await page.$eval('.button', (element) => Math.max(...getComputedStyle(element).transitionDuration.split(',').map(parseFloat)) < 0.001));
  await made.close();
});

test('roles: each sees what it may, and is told plainly what it may not', async () => {
  const as = async (login) => {
    const made = await context({}, null);
    const page = await made.newPage();
    await page.goto(`/athletes/${club.place.athlete}`);
    await arrive(page, /^\/sign-in\?to=/);
    await ready(page);
    await page.fill('#login', login);
    await page.fill('#passphrase', 'something else entirely');
    await page.click('button[type=submit]');
    await page.waitForSelector('[role=alert]');
    assert.match(await page.textContent('[role=alert]'), /do not go together/);
    assert.deepEqual(await axe(page), []);
    await page.fill('#passphrase', passphrase);
    await page.click('button[type=submit]');
    await arrive(page, `/athletes/${club.place.athlete}`);
    await ready(page);
    return { page, made };
  };
  const practitioner = await as('halvar');
  assert.match(await practitioner.page.textContent('h1'), /Ansa Brinvik/);
  await open(practitioner.page, '/settings/people');
  assert.match(await practitioner.page.textContent('h1'), /Not for this account/);
  const assistant = await as('liv');
  assert.match(await assistant.page.textContent('h1'), /Ansa Brinvik/);
  assert.equal(await assistant.page.locator('.lead-measure, .facts, lt-trend').count(), 0, 'an assistant sees a name and the own visits');
  assert.deepEqual(await axe(assistant.page), []);
  await open(assistant.page, `/athletes/${club.place.athlete}/body`);
  assert.match(await assistant.page.textContent('h1'), /Not for this account/);
  await open(assistant.page, '/');
  assert.doesNotMatch(await assistant.page.textContent('.people'), /°|visit/);
  const reviewer = await as('ingrid');
  assert.match(await reviewer.page.textContent('h1'), /Ansa Brinvik/);
  assert.equal(await reviewer.page.getByText('Body and history', { exact: true }).count(), 0, 'a reviewer changes nothing');
  for (const one of [practitioner, assistant, reviewer]) await one.made.close();
  const made = await context({}, null);
  const page = await made.newPage();
  await page.goto('/sign-in');
  await ready(page);
  await page.fill('#login', 'ansa');
  await page.fill('#passphrase', passphrase);
  await page.click('button[type=submit]');
  await arrive(page, '/me');
  await made.close();
});

test('somebody else changed the same: the change is refused, says what to do and shows theirs', async () => {
  const made = await context({});
  const page = await made.newPage();
  await open(page, `/athletes/${club.place.others[1]}/body`);
  const before = await club.owner.send('GET', `/athletes/${club.place.others[1]}`);
  await club.owner.send('PUT', `/athletes/${club.place.others[1]}`, { ...before.data.document, sport: 'Rowing' }, { 'If-Match': before.etag });
  await page.fill('#sport', 'Swimming');
  await page.getByRole('button', { name: 'Save' }).click();
  await page.waitForSelector('[role=alert]');
  assert.match(await page.textContent('[role=alert]'), /Somebody was faster/);
  await page.waitForFunction(() => document.getElementById('sport').value === 'Rowing');
  await made.close();
});

test('a wrong number is named at its field', async () => {
  const made = await context({});
  const page = await made.newPage();
  await open(page, '/athletes/new');
  await page.fill('#name', 'Nils Torgersvik');
  await page.fill('#stature_cm', '17');
  await page.fill('#mass_kg', '80');
  await page.getByRole('button', { name: 'Take in' }).click();
  assert.match(await page.textContent('#stature_cm-fault'), /Between 120 and 230/);
  assert.equal(await page.getAttribute('#stature_cm', 'aria-describedby'), 'stature_cm-fault');
  await made.close();
});

test('units and language change on the spot and stay', async () => {
  const made = await context({});
  const page = await made.newPage();
  await open(page, '/settings');
  await page.getByRole('radio', { name: 'Imperial (in, lb)' }).check();
  await page.getByRole('radio', { name: 'Deutsch' }).check();
  await page.waitForFunction(() => document.documentElement.lang === 'de');
  assert.match(await page.textContent('h1'), /Einstellungen/);
  await open(page, `/athletes/${club.place.athlete}`);
  assert.match(await page.textContent('.facts'), /67\u202fin/);
  assert.equal(await page.evaluate(() => document.title), 'Ansa Brinvik · Lintel');
  assert.deepEqual(await axe(page), []);
  await made.close();
});

test('without a connection the app and what was seen last are there', async () => {
  const made = await context({ serviceWorkers: 'allow' });
  const page = await made.newPage();
  await open(page, '/');
  await page.waitForFunction(async () => (await navigator.serviceWorker.ready).active?.state === 'activated');
  await page.waitForFunction(() => navigator.serviceWorker.controller);
  await open(page, '/');
  await open(page, `/athletes/${club.place.athlete}`);
  await made.setOffline(true);
  await page.reload();
  await ready(page);
  assert.match(await page.textContent('h1'), /Ansa Brinvik/);
  await open(page, '/');
  assert.match(await page.textContent('main.work'), /Jorek Tallmoor/);
  assert.match(await page.textContent('.beam'), /Not connected/);
  await page.goto(`/athletes/${club.place.others[0]}`); // never seen
  await page.waitForSelector('[role=alert]');
  assert.match(await page.textContent('[role=alert]'), /not reached/);
  assert.deepEqual(await axe(page), []);
  assert.equal(await page.getByRole('button', { name: 'Try again' }).count(), 1);
  await made.setOffline(false); // and it loads by itself
  const unseen = (await club.owner.send('GET', `/athletes/${club.place.others[0]}`)).data.document.athlete.name;
  await page.waitForFunction((name) => document.querySelector('h1')?.textContent.trim() === name, unseen);
  await made.close();
});

test('signing out leaves nothing of the caseload on the device', async () => {
  const client = new Client(club.server.url);
  await client.signIn('halvar');
  const made = await context({ serviceWorkers: 'allow' }, client);
  const page = await made.newPage();
  await open(page, '/');
  await page.waitForFunction(() => navigator.serviceWorker.controller);
  await open(page, '/');
  await page.waitForFunction(async () => (await caches.has('lintel-seen-1')));
  await open(page, '/settings');
  await page.getByRole('button', { name: 'Sign out' }).click();
  await arrive(page, '/sign-in');
  await ready(page);
  assert.equal(await page.evaluate(() => caches.has('lintel-seen-1')), false);
  await made.close();
});

test('the one-time page of a phone works without an account', async () => {
  const { data } = await club.owner.send('POST', `/visits/${club.place.visit}/hand-off`, {});
  const secret = new URL(data.url).pathname;
  const made = await context({ viewport: sizes.phone, hasTouch: true }, null);
  const page = await made.newPage();
  await page.goto(secret);
  await page.waitForSelector('h1');
  assert.match(await page.textContent('body'), /Ansa/);
  assert.doesNotMatch(await page.textContent('body'), /Brinvik/, 'a first name is enough');
  assert.deepEqual(await axe(page), []);
  await page.setInputFiles('input[type=file]', { name: 'squat.mp4', mimeType: 'video/mp4', buffer: Buffer.alloc(5_000_000, 7) });
  await page.waitForSelector('.sign.real');
  assert.match(await page.textContent('.sign'), /arrived/);
  await page.goto('/u/' + 'x'.repeat(secret.length - 3));
  await page.waitForSelector('h1');
  assert.match(await page.textContent('h1'), /does not work any more/);
  await made.close();
});

test('the first load is small', async () => {
  const made = await context({ serviceWorkers: 'block' });
  const page = await made.newPage();
  await open(page, '/');
  const { bytes, milliseconds } = await page.evaluate(() => {
    const entries = [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource').filter((one) => !one.name.includes('/api/'))];
    return { bytes: entries.reduce((sum, one) => sum + one.encodedBodySize, 0), milliseconds: Math.round(performance.now()) };
  });
  console.log(`# first load: ${(bytes / 1000).toFixed(1)} kB compressed; drawn ${milliseconds} ms after the start (with a page load of the test's own)`);
  assert.ok(bytes > 20_000 && bytes <= 300_000, `${bytes} bytes`);
  await made.close();
});

test('the policy allows no inline script, and the page holds none', async () => {
  const response = await fetch(club.server.url + '/');
  const policy = response.headers.get('content-security-policy');
  assert.match(policy, /script-src 'self'(;|$)/);
  assert.doesNotMatch(policy, /unsafe/);
  const text = await response.text();
  for (const script of text.match(/<script[^>]*>[^<]*/g) ?? []) assert.match(script, /src="\/[^"]+"[^>]*>$/);
  assert.doesNotMatch(text, /\sstyle=|\son[a-z]+=|https?:/);
});

test('on no page did a request leave the origin, was a policy violated, was anything thrown', () => {
  assert.deepEqual(seen, { foreign: [], violations: [], errors: [] });
});
