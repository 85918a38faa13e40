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

const empty = await startServer({ more: ['--workers', '0'] });
const server = await startServer({ caseload: 'club-with-clips', data: process.env.LINTEL_CLUB_DATA, more: ['--workers', '0'] });
const browser = await launch();
const owner = new Client(server.url);
await owner.signIn('runa');
const place = await placeOf(owner);
const handOff = new URL((await owner.send('POST', `/visits/${place.visit}/hand-off`, {})).data.url).pathname;
const screens = [
  { name: 'first-start', path: '/', server: empty, alone: true }, { name: 'sign-in', path: '/sign-in', alone: true },
  { name: 'caseload', path: '/' }, { name: 'new-athlete', path: '/athletes/new' },
  { name: 'athlete', path: `/athletes/${place.athlete}` }, { name: 'body', path: `/athletes/${place.athlete}/body` },
  { name: 'settings', path: '/settings' }, { name: 'people', path: '/settings/people' }, { name: 'safekeeping', path: '/settings/safekeeping' },
  { name: 'audit', path: '/settings/audit' }, { name: 'tests', path: '/protocols' }, { name: 'test-card', path: '/protocols/knee_to_wall_distance' },
  { name: 'drills', path: '/drills' }, { name: 'drill-card', path: '/drills/slow-heel-drop' },
  { name: 'phone-upload', path: handOff, alone: true, bare: true },
  { name: 'caseload-dark', path: '/', dark: true }, { name: 'athlete-dark', path: `/athletes/${place.athlete}`, dark: true },
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
