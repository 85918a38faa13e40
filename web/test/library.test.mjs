// The workplace's own tests, drills and standard errors in a real browser against the real server.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { arrive, axe, Client, inTheClub, open, passphrase, ready, seen, sizes, smallTargets, tabTo } from './harness.mjs';

const own = { protocol: 'knee_to_wall_on_a_block', drill: 'block-heel-drop' };
const club = inTheClub({ reducedMotion: 'reduce', serviceWorkers: 'block' });
const { context, get } = club;
const at = (page, path) => page.locator(`[id="${path}"]`);
/** Waits until the picture of the drawing is another one, loaded. */
const pictureChanges = (page, before) => page.waitForFunction((old) => {
  const image = document.querySelector('.preview img');
  return image?.complete && image.naturalWidth > 0 && image.src !== old ? image.src : false;
}, before).then((handle) => handle.jsonValue());

test('an own test is made from a built-in one by keyboard: the drawing follows, a fault stands at its field', async () => {
  const made = await context();
  const page = await made.newPage();
  await open(page, '/protocols/knee_to_wall_distance');
  await tabTo(page, 'Make your own from this one');
  await page.keyboard.press('Enter');
  await arrive(page, '/protocols/new?from=knee_to_wall_distance');
  await ready(page);
  const first = await pictureChanges(page, '');
  const drawn = await page.locator('.preview img').screenshot();
  await tabTo(page, 'Name');
  await page.keyboard.press('Control+a');
  await page.keyboard.type('Knee to wall on a block');

  await tabTo(page, 'Tries, to be averaged', 80);
  await page.keyboard.press('Control+a');
  await page.keyboard.type('99');
  await page.waitForSelector('[id="tries-fault"]');
  assert.match(await page.textContent('[id="tries-fault"]'), /Between 1 and 10/);
  assert.equal(await page.getAttribute('#tries', 'aria-describedby'), 'tries-fault');
  assert.match(await page.textContent('.next .note'), /1 thing to put right/);
  const link = page.getByRole('button', { name: 'Measuring: Tries, to be averaged' });
  await link.focus();
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => document.activeElement?.id === 'tries');
  await page.keyboard.press('Control+a');
  await page.keyboard.type('2');
  await page.waitForFunction(() => !document.querySelector('#to-mend'));

  await tabTo(page, 'Trunk', 200);
  const now = await page.getAttribute('.preview img', 'src');
  for (let i = 0; i < 25; i++) await page.keyboard.press('ArrowRight');
  await pictureChanges(page, now);
  assert.notDeepEqual(await page.locator('.preview img').screenshot(), drawn, `the figure leans further than in ${first}`);
  assert.equal(await at(page, 'drawing.panels[0].figures[0].trunk_deg').inputValue(), '30', 'the number follows the slider');

  await tabTo(page, 'Save', 200);
  await page.keyboard.press('Enter');
  await arrive(page, `/protocols/${own.protocol}`);
  await ready(page);
  assert.match(await page.textContent('h1'), /Knee to wall on a block/);
  assert.match(await page.textContent('.page-head'), /own/);
  const { protocol, built_in: builtIn } = await get(`/protocols/${own.protocol}`);
  assert.deepEqual([builtIn, protocol.tries, protocol.drawing.panels[0].figures[0].trunk_deg], [false, 2, 30]);
  assert.deepEqual(protocol.photo, (await get('/protocols/knee_to_wall_distance')).protocol.photo, 'the recipe for photographs is kept');
  await made.close();
});

test('the own test is entered in a visit', async () => {
  const made = await context();
  const page = await made.newPage();
  await open(page, `/visits/${club.place.visit}/tests`);
  await page.waitForSelector(`a[href="/visits/${club.place.visit}/tests/${own.protocol}"]`);
  await open(page, `/visits/${club.place.visit}/tests/${own.protocol}`);
  for (const side of ['left', 'right']) for (const [i, value] of ['7', '7.5'].entries()) await page.fill(`#try-${side}-${i + 1}`, value);
  await page.getByRole('button', { name: 'Save' }).first().click();
  await arrive(page, `/visits/${club.place.visit}/tests`);
  const { document } = await get(`/visits/${club.place.visit}/tests`);
  assert.deepEqual(document.results.filter((one) => one.protocol === own.protocol).map((one) => one.tries_cm), [[7, 7.5], [7, 7.5]]);
  await made.close();
});

test('an own standard error is taken over from a table, and given back', async () => {
  const made = await context();
  const page = await made.newPage();
  await open(page, '/protocols/knee_to_wall_distance');
  await page.getByRole('button', { name: 'Use your own' }).click();
  const load = (name, text) => page.setInputFiles('#table-file', { name, mimeType: 'text/csv', buffer: Buffer.from(text) });
  await load('torn.csv', 'person,Monday,Thursday\nA,10.5,11\nB,8\n');
  await page.waitForSelector('[role=alert]');
  assert.match(await page.textContent('[role=alert]'), /the row has 2 cells/);
  // As a German spreadsheet writes it. The standard error from the residual of two columns is the spread of the differences / √2.
  const rows = [[10.5, 11], [8, 7.5], [12, 12.5], [9.5, 9], [6, 7], [11, 10.5], [7.5, 8], [12.5, 12]];
  const differences = rows.map(([a, b]) => b - a);
  const mean = differences.reduce((sum, one) => sum + one, 0) / rows.length;
  const expected = Math.sqrt(differences.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (rows.length - 1) / 2);
  await load('wiederholt.csv', 'Person;Montag;Donnerstag\n' + rows.map((row, i) => `P${i + 1};${row.join(';').replaceAll('.', ',')}`).join('\n') + '\n');
  await page.waitForSelector('.sign.real');
  const words = await page.textContent('.sign.real');
  assert.match(words, /8 people, measured as: Montag, Donnerstag/);
  assert.ok(words.includes(`Your standard error: ${expected.toFixed(2)}\u202fcm`), `${expected} in: ${words}`);
  assert.deepEqual(await axe(page), []);
  await page.getByRole('button', { name: /^Take over/ }).click();
  await page.getByText('your own, in force').waitFor();
  const card = await get('/protocols/knee_to_wall_distance');
  assert.equal(card.protocol.standard_error.value, card.own_standard_error.value);
  assert.equal(card.published_standard_error.value, 0.6);
  assert.match(await page.textContent('lt-own-error'), /Published: 0\.6\u202fcm, mean of 3 tries/);
  await open(page, '/protocols');
  assert.match(await page.textContent('a[href="/protocols/knee_to_wall_distance"]'), /own standard error/);

  await open(page, '/protocols/knee_to_wall_distance');
  await page.getByRole('button', { name: 'Change your own' }).click();
  await page.fill('#value', '0,9');
  await page.fill('#source', 'somebody said so');
  await page.getByRole('button', { name: 'Take it over' }).click();
  await page.waitForSelector('[id="source-fault"]');
  await page.fill('#source', 'Runa Feldvik, 8 people twice, 2026');
  await page.getByRole('button', { name: 'Take it over' }).click();
  await page.getByText('0.9\u202fcm, mean of').waitFor();
  await page.getByRole('button', { name: 'Back to the published one' }).click();
  await page.locator('dialog').getByRole('button', { name: 'Back to the published one' }).click();
  await page.getByText('published, in force').waitFor();
  assert.equal((await get('/protocols/knee_to_wall_distance')).own_standard_error, null);
  await made.close();
});

test('an own drill comes into the plan and can be edited there', async () => {
  const made = await context();
  const page = await made.newPage();
  await open(page, '/drills/new?from=slow-heel-drop');
  await page.fill('#name', 'Block heel drop');
  await at(page, 'targets[0].gain_deg_per_week').fill('5'); // so well that the planner must want it
  await page.getByRole('button', { name: 'Add target' }).click();
  await page.waitForFunction(() => document.activeElement?.id === 'targets[1].part');
  await at(page, 'targets[1].part').selectOption('heel');
  for (const [key, value] of [['gain_deg_per_week', '0,1'], ['gain_sd_deg_per_week', '0,2'], ['reference_minutes_per_week', '10'], ['weeks', '8']]) await at(page, `targets[1].${key}`).fill(value);
  await at(page, 'targets[1]').getByRole('button', { name: 'There is no source' }).click();
  const rungs = await page.locator('[id="ladder"] > ol > li').count();
  const last = page.getByRole('button', { name: `Rung ${rungs}: earlier` });
  await last.click();
  await page.waitForFunction((name) => document.activeElement?.textContent === name, `Rung ${rungs - 1}: earlier`);
  await page.getByRole('button', { name: 'Save' }).first().click();
  await arrive(page, `/drills/${own.drill}`);
  await ready(page);
  const [mine, theirs] = (await Promise.all([own.drill, 'slow-heel-drop'].map((id) => get(`/drills/${id}`)))).map((card) => card.drill);
  assert.deepEqual(mine.ladder.map((rung) => rung.name), [theirs.ladder[0], theirs.ladder[2], theirs.ladder[1]].map((rung) => rung.name));
  assert.deepEqual(mine.targets.map((one) => [one.part, one.gain_deg_per_week]), [['ankle', 5], ['heel', 0.1]]);
  await open(page, '/drills');
  assert.match(await page.textContent(`a[href="/drills/${own.drill}"]`), /own/);
  await open(page, `/visits/${club.place.visit}/plan`);
  await page.locator('.plan-form').getByRole('button', { name: 'Make the plan' }).click();
  const card = page.locator('.drill', { hasText: 'Block heel drop' });
  await card.waitFor();
  await card.getByRole('button', { name: 'Sets: one less' }).click();
  await page.locator('.save-bar').getByRole('button').first().click();
  await page.locator('.save-bar').waitFor({ state: 'detached' });
  const plans = (await get(`/athletes/${club.place.athlete}/plans`)).items.filter((one) => one.document.visit === club.place.visit);
  assert.ok(plans[0].document.plan.drills.some((one) => one.id === own.drill));
  await made.close();
});

test('somebody else was faster: both changes come together', async () => {
  const made = await context();
  const page = await made.newPage();
  await open(page, `/protocols/${own.protocol}/edit`);
  const { data: card, etag } = await club.owner.send('GET', `/protocols/${own.protocol}`);
  const theirs = { ...card.protocol, minutes: 7, purpose: 'Theirs.', standard_error: card.published_standard_error };
  await club.owner.send('PUT', `/protocols/${own.protocol}`, theirs, { 'If-Match': etag });
  await page.fill('#purpose', 'Mine.');
  await page.fill('#position', 'Foot on a block of 2 cm.');
  await page.getByRole('button', { name: 'Save' }).first().click();
  const told = page.locator('#not-saved');
  await told.waitFor();
  assert.match(await told.textContent(), /Only they changed: Measuring: Time for all of it\.\s*Both of you changed: What it is: What it is for\./);
  assert.deepEqual(await axe(page), []);
  await told.getByRole('button', { name: 'Bring both together' }).click();
  await page.waitForFunction(() => document.getElementById('minutes').value === '7');
  assert.equal(await page.inputValue('#purpose'), 'Mine.');
  await page.getByRole('button', { name: 'Save' }).first().click();
  await arrive(page, `/protocols/${own.protocol}`);
  const { protocol, record } = await get(`/protocols/${own.protocol}`);
  assert.deepEqual([protocol.purpose, protocol.position, protocol.minutes, record.version], ['Mine.', 'Foot on a block of 2 cm.', 7, 3]);
  await made.close();
});

test('pictures, figures, things and marks come and go; a fault leads to its picture; the photograph can be dropped', async () => {
  const made = await context();
  const page = await made.newPage();
  await open(page, `/protocols/${own.protocol}/edit`);
  let picture = await pictureChanges(page, '');
  const changes = async (act) => { await act(); picture = await pictureChanges(page, picture); };
  await changes(() => page.getByRole('button', { name: 'Add a picture' }).click());
  const panel = 'drawing.panels[1]';
  await at(page, `${panel}.props-new`).selectOption('ball');
  await changes(() => page.getByRole('button', { name: 'Add the thing' }).click());
  await page.waitForFunction((id) => document.activeElement?.id === id, `${panel}.props[2].x_cm`);
  await at(page, `${panel}.marks-new`).selectOption('arrow');
  await changes(() => page.getByRole('button', { name: 'Add the mark' }).click());
  await at(page, `${panel}.marks[2].from`).selectOption('far_knee');
  await at(page, `${panel}.marks[2].to[1]`).fill('7000');
  await page.getByLabel('Hand: each side by itself').check();
  await page.getByRole('radio', { name: 'Picture 1' }).check();
  await page.getByText('The drawing has a fault; this is how it was before.').waitFor();
  await page.locator('#to-mend').getByRole('button', { name: 'Drawing: Picture 2' }).click();
  await page.waitForFunction((id) => document.activeElement?.id === id, `${panel}.marks[2].to[1]`);
  await changes(() => at(page, `${panel}.marks[2].to[1]`).fill('70'));
  await changes(() => page.getByRole('button', { name: 'Remove Figure 1' }).click());
  await page.getByRole('button', { name: 'Do without the photograph' }).click();
  await page.getByRole('button', { name: 'Take the recipe back' }).click();
  await page.getByRole('button', { name: 'Do without the photograph' }).click();
  await page.getByRole('button', { name: 'Save' }).first().click();
  await arrive(page, `/protocols/${own.protocol}`);
  const { protocol } = await get(`/protocols/${own.protocol}`);
  const [first, second] = protocol.drawing.panels;
  assert.deepEqual([protocol.photo, protocol.drawing.panels.length, first.figures.length, second.figures?.length ?? 0], [undefined, 2, 1, 0]);
  assert.deepEqual([second.props[2].kind, second.marks[2].kind, second.marks[2].from, second.marks[2].to], ['ball', 'arrow', 'far_knee', [40, 70]]);
  await made.close();
});

test('leaving with something unsaved asks: by a link, by the back button', async () => {
  const made = await context();
  const page = await made.newPage();
  await open(page, '/protocols');
  await page.getByRole('link', { name: 'New test' }).click();
  await arrive(page, '/protocols/new');
  await ready(page);
  await page.fill('#name', 'Half a test');
  await page.getByRole('link', { name: 'To the caseload' }).click();
  await page.locator('dialog').getByRole('button', { name: 'Stay' }).click();
  assert.equal(await page.inputValue('#name'), 'Half a test');
  await page.goBack();
  await page.locator('dialog').getByRole('button', { name: 'Stay' }).click();
  await page.locator('dialog').waitFor({ state: 'detached' });
  assert.equal(new URL(page.url()).pathname, '/protocols/new');
  assert.equal(await page.inputValue('#name'), 'Half a test');
  await page.goBack();
  await page.locator('dialog').getByRole('button', { name: 'Leave' }).click();
  await arrive(page, '/protocols');
  await ready(page);
  assert.equal((await get('/protocols?archived=true')).protocols.some((one) => one.name === 'Half a test'), false);
  await made.close();
});

test('an empty test says everything that is missing, each at its field', async () => {
  const made = await context();
  const page = await made.newPage();
  await open(page, '/drills/new');
  assert.equal(await page.locator('#to-mend').count(), 0, 'nobody is blamed before having written anything');
  const names = await page.$$eval('.library-editor .course h2', (heads) => heads.map((one) => one.textContent));
  assert.deepEqual(await page.$$eval('.contents a', (links) => links.map((one) => one.textContent)), names, 'every section can be reached from the top');
  await page.locator('.contents').getByRole('link', { name: 'Safety' }).focus();
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => document.activeElement?.getAttribute('aria-label') === 'Safety');
  assert.ok(await page.evaluate(() => document.activeElement.getBoundingClientRect().top < innerHeight / 2), 'it is in the picture');
  await page.getByRole('button', { name: 'Save' }).first().click();
  await page.waitForSelector('#to-mend');
  await page.waitForFunction(() => document.activeElement?.id === 'to-mend');
  const missing = await page.$$eval('.mend-list button', (links) => links.map((one) => one.textContent));
  for (const name of ['What it is: Name', 'Step 1', 'Rung 1: How', 'Target 1: Gain a week']) assert.ok(missing.some((one) => one.includes(name)), `${name} in ${missing.join('; ')}`);
  for (const name of missing) assert.doesNotMatch(name, /[_[\]]/, 'names of fields, not of keys');
  await page.getByRole('button', { name: 'Rung 1: How' }).click();
  await page.waitForFunction(() => document.activeElement?.id === 'ladder[0].how');
  assert.equal(await page.getAttribute('[id="ladder[0].how"]', 'aria-invalid'), 'true');
  await made.close();
});

for (const colorScheme of ['light', 'dark']) {
  test(`axe finds nothing on any screen of the library, ${colorScheme}`, async () => {
    const made = await context({ colorScheme });
    const page = await made.newPage();
    for (const path of ['/protocols?archived=1', `/protocols/${own.protocol}`, '/protocols/new', `/protocols/${own.protocol}/edit`, '/drills?archived=1', `/drills/${own.drill}`, '/drills/new', `/drills/${own.drill}/edit`, '/protocols/knee_to_wall_distance/edit']) {
      await open(page, path);
      const way = page.getByRole('button', { name: 'Use your own' });
      if (await way.count()) await way.click();
      assert.deepEqual(await axe(page), [], `${path}, ${colorScheme}`);
    }
    await made.close();
  });
}

test('on a phone and a small tablet nothing is too small or too wide', async () => {
  for (const viewport of [sizes.phone, { width: 590, height: 410 }, { width: 320, height: 640 }]) {
    const made = await context({ viewport, hasTouch: true });
    const page = await made.newPage();
    for (const path of ['/protocols?archived=1', `/protocols/${own.protocol}`, `/protocols/${own.protocol}/edit`, `/drills/${own.drill}/edit`]) {
      await open(page, path);
      const way = page.getByRole('button', { name: 'Use your own' });
      if (await way.count()) await way.click();
      const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(over <= 0, `${path} at ${viewport.width} px is ${over} px too wide`);
      if (viewport === sizes.phone) assert.deepEqual(await smallTargets(page), [], path);
    }
    await made.close();
  }
});

test('archived ones are not offered, stay readable, and come back', async () => {
  const made = await context();
  const page = await made.newPage();
  await open(page, `/protocols/${own.protocol}`);
  await page.getByRole('button', { name: 'Archive' }).click();
  await page.locator('dialog').getByRole('button', { name: 'Archive' }).click();
  await page.getByRole('button', { name: 'Bring back' }).waitFor();
  await open(page, '/protocols');
  const line = page.locator(`a[href="/protocols/${own.protocol}"]`);
  assert.equal(await line.count(), 0);
  await page.getByLabel('Show archived ones too').check();
  await line.waitFor();
  assert.match(await line.textContent(), /Archived/);
  assert.match(page.url(), /archived=1/);
  await open(page, `/visits/${club.place.visit}/tests`);
  assert.match(await page.textContent('.test-done'), /Knee to wall on a block/, 'what was measured stays');
  await open(page, `/protocols/${own.protocol}`);
  await page.getByRole('button', { name: 'Bring back' }).click();
  await page.getByRole('button', { name: 'Archive' }).waitFor();
  assert.equal((await get('/protocols')).protocols.some((one) => one.id === own.protocol), true);
  await made.close();
});

test('a reviewer reads and changes nothing', async () => {
  const reviewer = new Client(club.server.url);
  await reviewer.signIn('ingrid', passphrase);
  const made = await context({}, reviewer);
  const page = await made.newPage();
  for (const path of ['/protocols', `/protocols/${own.protocol}`, '/drills', `/drills/${own.drill}`]) {
    await open(page, path);
    const words = await page.$$eval('main.work button, main.work a.button, aside.right button, aside.right a', (all) => all.map((one) => one.textContent.trim()));
    assert.deepEqual(words, [], path);
  }
  for (const path of ['/protocols/new', `/protocols/${own.protocol}/edit`, '/drills/new', `/drills/${own.drill}/edit`]) {
    await open(page, path);
    assert.match(await page.textContent('h1'), /Not for this account/, path);
  }
  await made.close();
});

test('on no page did a request leave the origin, was a policy violated, was anything thrown', () => {
  assert.deepEqual(seen, { foreign: [], violations: [], errors: [] });
});
