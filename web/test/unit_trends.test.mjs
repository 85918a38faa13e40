// The trunk over time: which course leads, and the words for a setup; without a browser.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as esbuild from 'esbuild';

globalThis.addEventListener ??= () => undefined;
globalThis.localStorage ??= { getItem: () => null, setItem: () => undefined };
if (typeof navigator === 'undefined' || !('onLine' in navigator)) Object.defineProperty(globalThis, 'navigator', { value: { onLine: true, language: 'en' }, configurable: true });
const source = join(dirname(fileURLToPath(import.meta.url)), '..', 'src');
const { outputFiles } = await esbuild.build({
  stdin: { contents: "export * from './pages/trunk_course.js'; export { settings } from './shell/store.js';", resolveDir: source, loader: 'ts' }, bundle: true, write: false, format: 'esm', platform: 'node',
  logLevel: 'error', tsconfigRaw: { compilerOptions: { experimentalDecorators: true, useDefineForClassFields: false } },
});
const { trunkCourses, courseOf, differenceWords, firstOfNewestDay, lineOf, settings } = await import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].contents).toString('base64'));
settings.set({ units: 'metric', language: 'en', theme: 'system' });
const plain = (text) => text.replaceAll('\u202f', ' ').replaceAll('\u00a0', ' ');

const point = (date, value, more = {}) => ({ date, value, error: 2, record: `${date}-${value}`, ...more });
const series = (source, setup, points, name = 'trunk_inclination') => ({ name, source, setup, points });
const own = { own: true, differs: [] };
const heels = { own: false, differs: [{ key: 'heel_elevation_cm', value: 2.5, own: 0 }] };
const wide = { own: false, differs: [{ key: 'stance_width_cm', value: 58, own: 33 }, { key: 'toe_out_deg', value: 32, own: 17 }] };

test('the own setup leads whatever was filmed last; what was typed in comes after all clips', () => {
  const all = [series('clip', wide, [point('2026-10-01', 30)]), series('typed', null, [point('2026-11-20', 28, { method: 'eye' })]), series('clip', own, [point('2026-08-01', 44)]),
    series('clip', heels, [point('2026-11-01', 34)]), series('clip', own, [point('2026-08-01', 3)], 'shank_inclination'), series('test', null, [point('2026-11-01', 9)], 'knee_to_wall_distance')];
  const { lead, others } = trunkCourses(all);
  assert.equal(lead.setup, own);
  assert.deepEqual(others.map((one) => one.setup ?? one.source), [heels, wide, 'typed']);
  assert.equal(trunkCourses(all.filter((one) => !one.setup?.own)).lead.setup, heels, 'else what was filmed last');
  assert.equal(trunkCourses(all.filter((one) => one.source === 'typed')).lead.source, 'typed');
  assert.equal(trunkCourses([]).lead, undefined);
});

test('every course says in which setup it is, in the units of the device', () => {
  assert.equal(courseOf(series('clip', own, [])), 'in the competition setup');
  assert.equal(plain(courseOf(series('clip', heels, []))), 'in another setup than the competition’s: Heels 2.5 cm');
  assert.equal(plain(differenceWords(wide)), 'Stance width 58 cm, Toes out 32°');
  assert.equal(courseOf(series('typed', null, [])), 'Typed in, not filmed');
  assert.equal(plain(differenceWords({ own: false, differs: [{ key: 'bar_position', value: 'front', own: 'overhead' }, { key: 'surface_height_cm', value: null, own: 40 }] })), 'Bar: on the front, Seat height: none');
  settings.set({ units: 'imperial', language: 'en', theme: 'system' });
  assert.match(plain(differenceWords(wide)), /^Stance width 22\.8 in/);
  settings.set({ units: 'metric', language: 'en', theme: 'system' });
});

test('the first of the newest day stands for it, and typed points carry how they were told', () => {
  assert.equal(firstOfNewestDay(series('clip', own, [point('2026-08-01', 44), point('2026-09-01', 43), point('2026-09-01', 30)])).value, 43);
  const line = lineOf(series('typed', null, [point('2026-08-01', 44, { method: 'inclinometer' })]));
  assert.equal(line.typed, true);
  assert.equal(line.points[0].note, 'inclinometer on the back');
  assert.equal(lineOf(series('clip', own, [point('2026-08-01', 44)])).typed, false);
});
