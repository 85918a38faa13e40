// Documents of records as lines that people read, and what differs: without a browser.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as esbuild from 'esbuild';

globalThis.addEventListener ??= () => undefined;
globalThis.localStorage ??= { getItem: () => null, setItem: () => undefined };
globalThis.document ??= { documentElement: {} };
if (typeof navigator === 'undefined' || !('onLine' in navigator)) Object.defineProperty(globalThis, 'navigator', { value: { onLine: true, language: 'en' }, configurable: true });
const source = join(dirname(fileURLToPath(import.meta.url)), '..', 'src');
const { outputFiles } = await esbuild.build({
  stdin: { contents: "export * from './parts/history_words.js'; export { settings } from './shell/store.js';", resolveDir: source, loader: 'ts' }, bundle: true, write: false, format: 'esm', platform: 'node',
  logLevel: 'error', tsconfigRaw: { compilerOptions: { experimentalDecorators: true, useDefineForClassFields: false } },
});
const { linesOf, changesOf, settings } = await import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].contents).toString('base64'));
settings.set({ units: 'metric', language: 'en', theme: 'system' });

/** {label: text} */
const told = (kind, document, names) => Object.fromEntries(linesOf(kind, document, names).map((line) => [line.label, line.text.replaceAll('\u202f', ' ')]));
const changes = (kind, before, after, names) => changesOf(linesOf(kind, before, names), linesOf(kind, after, names)).map((one) => [one.label, one.before, one.after].map((text) => text?.replaceAll('\u202f', ' ')));

test('an athlete: words of the form, units of the device, measured values with their error', () => {
  const document = { schema: 'lintel-intake-1', athlete: { schema: 'lintel-athlete-1', id: 'x', name: 'Ansa Brinvik', sex: 'female', body: { stature_cm: 170, thigh_cm: { value: 41.5, standard_error: 0.5 } }, setup: { stance_width_cm: 34, bar_position: 'overhead' },
    tests: { knee_to_wall_left_cm: { value: 9.5, standard_error: 1 } }, warning_signs: ['pain', 'fever'] }, goal: { lift: 'snatch', trunk_deg: 28, date: '2026-12-24' }, consent: { given: true }, equipment: ['box', 'wedge'], minutes: 20 };
  assert.deepEqual(told('athlete', document), { Name: 'Ansa Brinvik', Sex: 'Female', Stature: '170 cm', Thigh: '41.5 cm ± 0.5 cm', 'Stance width': '34 cm', Bar: 'overhead', 'Knee to wall left': '9.5 cm ± 1 cm',
    'Warning signs': 'Pain, Fever', Lift: 'Snatch', 'Trunk at the lowest point, goal': '28°', 'Goal by': '24 Dec 2026', Consent: 'yes', Equipment: 'Box, Heel wedge', 'Minutes a session': '20' });
  settings.set({ units: 'imperial', language: 'en', theme: 'system' });
  assert.equal(told('athlete', document)['Stature'], '67 in');
  settings.set({ units: 'metric', language: 'en', theme: 'system' });
});

test('what is other: changed, new, gone; the same is not told', () => {
  const before = { athlete: { name: 'A', body: { mass_kg: 66 } }, notes: 'old', equipment: ['box'] };
  const after = { athlete: { name: 'A', body: { mass_kg: 67.5 } }, history: 'knee', equipment: ['box'] };
  assert.deepEqual(changes('athlete', before, after), [['Body mass', '66 kg', '67.5 kg'], ['History', undefined, 'knee'], ['Notes', 'old', undefined]]);
  assert.deepEqual(changes('athlete', before, structuredClone(before)), []);
  assert.deepEqual(changes('athlete', before, { ...before, schema: 'x' }), [], 'what the program keeps for itself is not told');
});

test('tests: by name and side, wherever they stand in the list', () => {
  const names = { knee_to_wall_distance: 'Knee to wall' };
  const left = { protocol: 'knee_to_wall_distance', side: 'left', tries_cm: [8, 8.5] };
  const right = { protocol: 'knee_to_wall_distance', side: 'right', reached: true };
  const photo = { protocol: 'knee_flexion_deep_squat', side: 'left', tries_deg: [121], device: 'photo', photo: { file: 'a.jpg', moved: ['knee'] }, notes: 'warm' };
  assert.deepEqual(changes('tests', { results: [left, right] }, { results: [right, left, photo] }, names), [['Knee flexion deep squat, left', undefined, '121° · from a photo · moved by hand: Knee · warm']]);
  assert.deepEqual(changes('tests', { results: [left, right] }, { results: [{ ...left, tries_cm: [9] }] }, names), [['Knee to wall, left', '8 cm; 8.5 cm', '9 cm'], ['Knee to wall, right', 'reaches the line', undefined]]);
});

test('a clip: what a person corrected, not what the program wrote beside it', () => {
  const before = { schema: 'lintel-trial-1', state: 'waiting', name: 'As usual', view: 'side', media: 'abc' };
  const after = { ...before, state: 'measured', measured: { at: '2026-10-28T08:20:00Z', summary: 'long' }, results: [{ name: 'a' }, { name: 'b' }],
    corrections: { points: [{ frame: 59, landmark: 'left_hip', x_px: 100.4, y_px: 200 }], events: [{ repetition: 1, event: 'bottom', frame: 60 }], vertical_deg: 2, person: null } };
  assert.deepEqual(changes('trial', before, after), [['State', 'waits to be measured', 'measured'], ['Files of the measurement', undefined, '2 files'], ['True vertical', undefined, '2°'],
    ['Repetition 1, bottom', undefined, 'picture 60'], ['Hip, left, picture 59', undefined, 'at 100, 200']]);
});

test('decisions, a plan, a session, a visit without a clip', () => {
  assert.deepEqual(told('overrulings', { overrulings: [{ finding: 'stance', verdict: 'asserted', size_deg: 4, reason: 'Seen it often.', who: 'Runa Feldvik', date: '2026-10-28' }] }), { 'Stance width': 'This is it · 4° · Seen it often. · Runa Feldvik, 28 Oct 2026' });
  const plan = (sets) => ({ plan: { from: '2026-10-28', last_day: '2026-12-22', minutes_per_session: 15, sessions_per_week: 4, drills: [{ id: 'calf-rolling', name: 'Calf rolling', step: 1, step_name: '', dose: { sets, repetitions: 8, hold_s: 0, times_per_week: 2 } },
    { id: 'hold', name: 'Deep hold', step: 2, step_name: 'on a box', dose: { sets: 2, repetitions: 1, hold_s: 30, times_per_week: 3 } }], schedule: [{ week: 1 }] } });
  assert.deepEqual(changes('plan', plan(2), plan(3)), [['Calf rolling', '2 × 8 · 2 days a week · step 1', '3 × 8 · 2 days a week · step 1']]);
  assert.equal(told('plan', plan(2))['Deep hold'], '2 × 30 s · 3 days a week · on a box');
  assert.match(told('session_log', { date: '2026-10-28', drills: [{ drill: 'calf-rolling', sets: 2, hold_s: 30 }] })['Calf rolling'], /^sets 2, hold 30 s$/);
  assert.equal(told('visit', { date: '2026-10-28', trunk: { inclination_deg: 48.5, standard_error_deg: 4, method: 'eye' } })['Trunk without a clip'], '48.5° ± 4°, seen by eye');
  assert.deepEqual(told('own', { label: 'x', list: [{ id: 'a', size_cm: 3 }] }), { Label: 'x', 'List 1': 'size 3 cm' }, 'a kind that is not known yet');
});

test('no key of the catalogue stands in two of its files: the later one would win without a word', async () => {
  const { readdirSync } = await import('node:fs');
  const owners = new Map();
  for (const file of readdirSync(join(source, 'words')).filter((name) => /^en_\w+\.ts$/.test(name))) {
    const built = await esbuild.build({ entryPoints: [join(source, 'words', file)], bundle: true, write: false, format: 'esm', logLevel: 'error' });
    const [words] = Object.values(await import('data:text/javascript;base64,' + Buffer.from(built.outputFiles[0].contents).toString('base64')));
    for (const key of Object.keys(words)) owners.set(key, [...(owners.get(key) ?? []), file]);
  }
  assert.ok(owners.size > 500);
  assert.deepEqual([...owners].filter(([, files]) => files.length > 1), []);
});

test('what is brought back: what a person put right on a clip, a plan without its notes, all of the others', async () => {
  const built = await esbuild.build({ stdin: { contents: "export * from './pages/history_back.js'; export { same } from './api/same.js';", resolveDir: source, loader: 'ts' }, bundle: true, write: false, format: 'esm', logLevel: 'error' });
  const { wayBack, same } = await import('data:text/javascript;base64,' + Buffer.from(built.outputFiles[0].contents).toString('base64'));
  const version = (n, document, state = 'active') => ({ version: n, state, document });
  const trial = wayBack('trial', 'id', 'visit');
  const old = version(2, { name: 'a', results: [{ name: 'old' }], corrections: { points: [{ frame: 1 }] } });
  const newest = version(5, { name: 'b', results: [{ name: 'new' }], media: 'm' });
  assert.deepEqual(trial.body(old, newest, 'why'), { ...newest.document, corrections: { points: [{ frame: 1 }], events: [], person: null, vertical_deg: null, disc_mm: null } });
  assert.ok(same(trial.counts(newest), trial.counts(version(1, { name: 'x', corrections: { vertical_deg: null, points: [] } }))), 'none is none, however it is written');
  assert.ok(!same(trial.counts(newest), trial.counts(old)));
  const plan = wayBack('plan', 'id', 'visit');
  assert.deepEqual(plan.body(version(3, {}), version(7, {}), 'why'), { bring_back: 3, reason: 'why' });
  assert.ok(same(plan.counts(version(1, { plan: { drills: [1], notes: ['a'] } })), plan.counts(version(2, { plan: { notes: [], drills: [1] }, edits: [1] }))));
  const word = wayBack('overrulings', 'id', 'visit');
  assert.equal(word.path, '/visits/visit/overrulings');
  assert.deepEqual(word.body(version(1, { overrulings: [] }), newest, ''), { overrulings: [] });
  assert.equal(wayBack('session_log', 'id', 'visit'), undefined);
});

test('what if: the change in words with its error, or plainly that it cannot be told from none', async () => {
  const numbers = await esbuild.build({ stdin: { contents: "export * from './pages/what_if_numbers.js'; export { settings } from './shell/store.js';", resolveDir: source, loader: 'ts' }, bundle: true, write: false, format: 'esm', platform: 'node',
    logLevel: 'error', tsconfigRaw: { compilerOptions: { experimentalDecorators: true, useDefineForClassFields: false } } });
  globalThis.HTMLElement ??= class {};
  globalThis.customElements ??= { define: () => undefined, get: () => undefined };
  document.createTreeWalker ??= () => ({});
  const { changeText, leanAfter } = await import('data:text/javascript;base64,' + Buffer.from(numbers.outputFiles[0].contents).toString('base64'));
  const change = (by, error, distinguishable) => changeText({ trunk_change_deg: by, trunk_change_error_deg: error, distinguishable }).replaceAll('\u202f', ' ');
  assert.equal(change(-6.84, 1.2, true), '7° ± 1 more upright');
  assert.equal(change(-2.31, 0.42, true), '2.3° ± 0.4 more upright');
  assert.equal(change(4.2, 1.1, true), '4° ± 1 more lean');
  assert.equal(change(-0.31, 0.44, false), 'Not distinguishable from today: −0.3° ± 0.4');
  assert.equal(change(0.31, 0.44, false), 'Not distinguishable from today: +0.3° ± 0.4');
  assert.equal(change(0, 0, false), 'No difference that shows');
  assert.equal(change(-3, null, false), '3° more upright', 'an error that is not known is not invented');
  const answer = (today, by, after) => leanAfter({ today: { trunk_deg: today }, after: { trunk_deg: after }, trunk_change_deg: by });
  assert.deepEqual(answer(40, -5, 35.2), { value: 35.2, nearest: false });
  assert.deepEqual(answer(40, -15, 35.2), { value: 25, nearest: true });
});
