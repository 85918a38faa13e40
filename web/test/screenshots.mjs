// Pictures of every screen in three sizes for the user guide: docs/guide/NAME-SIZE.png.
// usage: node web/test/screenshots.mjs [NAME ...]   LINTEL_CLUB_DATA: a data folder of the club that is there already
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Client, launch, open, placeOf, ready, root, sizes, startServer, useSession, watched } from './harness.mjs';
import { visitScreens } from './visit_screens.mjs';

const out = join(root, 'docs', 'guide');
const wanted = process.argv.slice(2);
mkdirSync(out, { recursive: true });

async function picture(page, name) {
  await page.waitForFunction(() => [...document.images].every((image) => image.complete || image.getBoundingClientRect().top > innerHeight));
  const bytes = await page.screenshot({ type: 'png', animations: 'disabled' });
  writeFileSync(join(out, name + '.png'), bytes);
}

/** To the figure of the drawing, with a trunk that leans. */
async function toDrawing(page) {
  await page.waitForSelector('.preview img');
  const figure = page.locator('[id="drawing.panels[0].figures[0].trunk_deg-slider"]');
  const before = await page.getAttribute('.preview img', 'src');
  await figure.fill('20');
  await page.waitForFunction((old) => document.querySelector('.preview img').src !== old, before);
  await page.evaluate(() => scrollTo(0, document.getElementById('drawing').getBoundingClientRect().top + scrollY - 90));
}
/** What a table of repeated measurements says about a standard error. */
async function readTable(page) {
  await page.getByRole('button', { name: 'Use your own' }).click();
  const rows = [[10.5, 11], [8, 7.5], [12, 12.5], [9.5, 9], [6, 7], [11, 10.5], [7.5, 8], [12.5, 12]];
  await page.setInputFiles('#table-file', { name: 'repeats.csv', mimeType: 'text/csv', buffer: Buffer.from('person,Monday,Thursday\n' + rows.map((row, i) => `P${i + 1},${row.join(',')}`).join('\n')) });
  await page.locator('.sign.real').waitFor();
  await page.evaluate(() => scrollTo(0, document.querySelector('.sign.real').getBoundingClientRect().bottom + scrollY - innerHeight + 110));
}

/** A slip of the keyboard and its mending, so that there are versions to look at; the record ends as it was. */
async function changeTwice(owner, athlete) {
  const { data, etag } = await owner.send('GET', `/athletes/${athlete}`);
  if (data.version > 1) return;
  const put = (client, document, version, reason) => client.send('PUT', `/athletes/${athlete}?reason=${encodeURIComponent(reason)}`, document, { 'If-Match': version });
  const slip = structuredClone(data.document);
  slip.athlete.body.mass_kg += 10;
  slip.athlete.setup.stance_width_cm += 4;
  slip.notes = 'Prefers mornings.';
  const other = new Client(owner.url);
  await other.signIn('halvar');
  await put(other, slip, etag, 'Weighed again');
  await put(owner, data.document, '"2"', 'Version 1 brought back: that was the scale with the bag on it');
}

const empty = await startServer({ more: ['--workers', '0'] });
const server = await startServer({ caseload: 'club-with-clips', data: process.env.LINTEL_CLUB_DATA, more: ['--workers', '0'] });
const browser = await launch();
const owner = new Client(server.url);
await owner.signIn('runa');
const place = await placeOf(owner);
await changeTwice(owner, place.athlete);
const handOff = new URL((await owner.send('POST', `/visits/${place.visit}/hand-off`, {})).data.url).pathname;
const screens = [
  { name: 'first-start', path: '/', server: empty, alone: true }, { name: 'sign-in', path: '/sign-in', alone: true },
  { name: 'caseload', path: '/' }, { name: 'new-athlete', path: '/athletes/new' },
  { name: 'athlete', path: `/athletes/${place.athlete}` }, { name: 'body', path: `/athletes/${place.athlete}/body` },
  { name: 'settings', path: '/settings' }, { name: 'people', path: '/settings/people' }, { name: 'safekeeping', path: '/settings/safekeeping' },
  { name: 'audit', path: '/settings/audit' }, { name: 'tests', path: '/protocols' }, { name: 'test-card', path: '/protocols/knee_to_wall_distance' },
  { name: 'drills', path: '/drills' }, { name: 'drill-card', path: '/drills/slow-heel-drop' },
  { name: 'test-editor', path: '/protocols/new?from=knee_to_wall_distance', act: (page) => toDrawing(page) }, { name: 'drill-editor', path: '/drills/new?from=slow-heel-drop' },
  { name: 'own-error', path: '/protocols/knee_to_wall_distance', act: (page) => readTable(page) },
  { name: 'phone-upload', path: handOff, alone: true, bare: true },
  { name: 'caseload-dark', path: '/', dark: true }, { name: 'athlete-dark', path: `/athletes/${place.athlete}`, dark: true },
  { name: 'sessions', path: '/settings/sessions' }, { name: 'tokens', path: '/settings/tokens', act: async (page) => { await page.getByRole('radio', { name: 'Only what is chosen' }).check(); await page.evaluate(() => scrollTo(0, 0)); } },
  { name: 'versions', path: `/records/${place.athlete}/versions?version=2` },
  ...await visitScreens(owner, place),
];
for (const [size, viewport] of Object.entries(sizes)) {
  for (const screen of screens) {
    if (wanted.length && !wanted.includes(screen.name)) continue;
    if (screen.dark && size !== 'tablet') continue;
    const at = screen.server ?? server;
    const context = await watched(browser, at.url, { viewport, hasTouch: size !== 'laptop', colorScheme: screen.dark ? 'dark' : 'light', reducedMotion: 'reduce', serviceWorkers: 'block' });
    if (!screen.alone) await useSession(context, screen.client ?? owner, at.url);
    const page = await context.newPage();
    if (screen.bare) { await page.goto(screen.path); await page.waitForSelector('h1'); } else await open(page, screen.path);
    await screen.act?.(page);
    if (!screen.bare) await ready(page);
    await picture(page, `${screen.name}-${size}`);
    await context.close();
  }
}
await browser.close();
await Promise.all([server.stop(), empty.stop()]);
