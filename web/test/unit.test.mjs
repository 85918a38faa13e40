// The parts of the app that need no browser: units, words, addresses, faults.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as esbuild from 'esbuild';

const source = join(dirname(fileURLToPath(import.meta.url)), '..', 'src');
async function load(text) {
  const { outputFiles } = await esbuild.build({
    stdin: { contents: text, resolveDir: source, loader: 'ts' }, bundle: true, write: false, format: 'esm', platform: 'neutral', mainFields: ['module', 'main'], logLevel: 'error',
  });
  return import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].contents).toString('base64'));
}

test('units go there and back, and round as a person would', async () => {
  const { formatQuantity, fromShown, toShown, readNumber } = await load("export * from './units.js';");
  assert.ok(Math.abs(toShown(2.54, 'cm', 'imperial') - 1) < 1e-12); // an inch is 2.54 cm by definition (1959)
  assert.ok(Math.abs(toShown(0.45359237, 'kg', 'imperial') - 1) < 1e-12); // a pound is 0.45359237 kg by definition
  assert.ok(Math.abs(fromShown(1, 'm', 'imperial') - 0.3048) < 1e-12); // a foot is 0.3048 m by definition
  for (const unit of ['cm', 'm', 'mm', 'kg', 'deg', 's']) {
    for (const value of [-3.7, 0, 0.01, 181.4]) assert.ok(Math.abs(fromShown(toShown(value, unit, 'imperial'), unit, 'imperial') - value) < 1e-12);
  }
  assert.equal(formatQuantity(6.66, 'cm', 'metric', 'de'), '6,7\u202fcm');
  assert.equal(formatQuantity(-0.2, 'deg', 'metric', 'en'), '0°', 'no minus zero');
  assert.equal(formatQuantity(-10.1, 'deg', 'metric', 'en'), '−10°');
  assert.equal(readNumber(' 178,5 '), 178.5);
  assert.equal(readNumber('1.5'), 1.5);
  for (const wrong of ['', '1,2,3', '12a', '1e3', '.']) assert.ok(Number.isNaN(readNumber(wrong)), wrong);
});

test('every language has the same placeholders in every sentence', async () => {
  const { en, de } = await load("export { en } from './words/en.js'; export { de } from './words/de.js';");
  const names = (text) => [...text.matchAll(/\{(\w+)\}/g)].map((hit) => hit[1]).sort();
  assert.deepEqual(Object.keys(de).sort(), Object.keys(en).sort());
  for (const key of Object.keys(en)) {
    assert.deepEqual(names(de[key]), names(en[key]), key);
    assert.ok(de[key].trim() && en[key].trim(), key);
  }
});

test('the cautions of the app are those of every other output', async () => {
  const { en } = await load("export { en } from './words/en.js';");
  const file = readFileSync(join(source, '..', '..', 'data', 'cautions.toml'), 'utf8');
  const cautions = [...file.matchAll(/code = "(\w+)"[^[]*?\ntext = "([^"]+)"/g)].map(([, code, text]) => [`caution_${code}`, text]);
  assert.ok(cautions.length >= 6);
  assert.deepEqual(Object.entries(en).filter(([key]) => key.startsWith('caution_')), cautions);
});

test('no sentence is kept that no page says', async () => {
  const { en } = await load("export { en } from './words/en.js';");
  const files = (folder) => readdirSync(folder, { withFileTypes: true }).flatMap((one) => (one.isDirectory() ? files(join(folder, one.name)) : [join(folder, one.name)]));
  const code = files(source).filter((path) => path.endsWith('.ts') && !path.includes('/words/')).map((path) => readFileSync(path, 'utf8')).join('\n');
  // What the server says is looked up by its English words (unit_server.test.mjs and unit_findings.test.mjs hold it against the sources).
  const stems = [...code.matchAll(/wordFor\(\s*'(\w+)'|`(\w+)_\$\{|'(\w+)_' \+/g)].map((hit) => (hit[1] ?? hit[2] ?? hit[3]) + '_').concat(code.includes('sentence(') ? ['server_', 'said_'] : []);
  const said = (key) => code.includes(`'${key}'`) || stems.some((stem) => key.startsWith(stem)) || (/_(one|other)$/.test(key) && code.includes(`'${key.replace(/_(one|other)$/, '')}'`));
  assert.deepEqual(Object.keys(en).filter((key) => !said(key)), []);
});

test('addresses and their pattern', async () => {
  globalThis.addEventListener ??= () => undefined;
  const { matchPath } = await load("export * from './shell/router.js';");
  assert.deepEqual(matchPath('/', '/'), {});
  assert.deepEqual(matchPath('/athletes/:athlete', '/athletes/a%20b/'), { athlete: 'a b' });
  assert.equal(matchPath('/athletes/:athlete', '/athletes/1/body'), undefined);
  assert.equal(matchPath('/athletes/new', '/athletes/1'), undefined);
});

test('a fault says what is wrong at which field', async () => {
  const { Fault } = await load("export * from './api/fault.js';");
  const fault = await Fault.from(new Response(JSON.stringify({
    title: 'invalid', status: 422, detail: 'two faults', mend: 'mend them', place: { field: 'athlete.name' },
    faults: [{ field: 'athlete.body.mass_kg', detail: 'is 3000', mend: 'allowed are 25 to 250' }],
  }), { status: 422 }));
  assert.equal(fault.of('mass_kg'), 'is 3000: allowed are 25 to 250');
  assert.equal(fault.of('name'), 'two faults: mend them');
  assert.equal(fault.of('kg'), '');
  const plain = await Fault.from(new Response('<html>', { status: 502, statusText: 'Bad Gateway' }));
  assert.equal(plain.status, 502);
  assert.ok(Fault.of(new TypeError('fetch failed')).offline);
});

test('a change is real from the smallest detectable change on', async () => {
  const { isReal } = await load("export * from './parts/real.js';");
  assert.equal(isReal(8, 6.4, 1.54), true);
  assert.equal(isReal(7.9, 6.4, 1.54), false);
  assert.equal(isReal(20, 0, null), false);
});
