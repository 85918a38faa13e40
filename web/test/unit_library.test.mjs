// Drafts of own tests and drills: reading and writing by path, bringing two changes together, short names, tables, faults.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as esbuild from 'esbuild';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const { outputFiles } = await esbuild.build({
  stdin: { contents: "export * from './pages/library_draft.js'; export * from './pages/library_types.js';", resolveDir: join(root, 'web', 'src'), loader: 'ts' },
  bundle: true, write: false, format: 'esm', platform: 'neutral', mainFields: ['module', 'main'], logLevel: 'error',
});
const { bringTogether, differing, Draft, faultWords, idFrom, plainTable, readPath, writePath, ...lists } = await import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].contents).toString('base64'));
const schema = (name) => JSON.parse(readFileSync(join(root, 'docs', 'schema', `${name}.schema.json`), 'utf8'));

test('a path reads and writes what the server calls by it', () => {
  const document = { norms: [{ source: 'a' }, { source: 'b' }] };
  assert.equal(readPath(document, 'norms[1].source'), 'b');
  assert.equal(readPath(document, 'norms[7].source'), undefined);
  writePath(document, 'norms[1].source', undefined);
  writePath(document, 'drawing.panels[0].figures[0].thigh_deg[1]', 45);
  assert.deepEqual(document.norms, [{ source: 'a' }, {}]);
  assert.equal(document.drawing.panels[0].figures[0].thigh_deg[1], 45);
  assert.ok(Array.isArray(document.drawing.panels));
});

test('two changes come together; where both changed, mine stands and is named', () => {
  const base = { name: 'a', steps: ['1'], tries: 3, minutes: 4 };
  const mine = { ...base, name: 'mine', tries: 2 };
  const theirs = { minutes: 6, tries: 5, steps: ['1'], name: 'a', reach: { mean: 1 } };
  const { document, taken, both } = bringTogether(base, mine, theirs);
  assert.deepEqual(document, { name: 'mine', steps: ['1'], tries: 2, minutes: 6, reach: { mean: 1 } });
  assert.deepEqual([taken.sort(), both], [['minutes', 'reach'], ['tries']]);
  assert.deepEqual(bringTogether(base, mine, mine).both, [], 'the same change twice is none');
  assert.deepEqual(differing({ a: { x: 1, y: 2 } }, { a: { y: 2, x: 1 } }), [], 'the order of keys is no difference');
});

test('short names fit the schemas, and none is taken twice', () => {
  const taken = new Set(['knie_zur_wand', 'own']);
  for (const [dash, name] of [['_', 'protocol'], ['-', 'drill']]) {
    const { pattern, maxLength } = schema(name).properties.id;
    for (const words of ['Knie zur Wand', '', '90/90', 'Übung für Füße', 'new', 'Check', '膝', 'x'.repeat(90)]) {
      const id = idFrom(words, dash, taken);
      assert.match(id, new RegExp(pattern), words);
      assert.ok(id.length <= (maxLength ?? 60) && !taken.has(id) && id !== 'new' && id !== 'check', id);
    }
  }
  assert.equal(idFrom('Knie zur Wand', '_', taken), 'knie_zur_wand_2');
  assert.equal(idFrom('Übung für Füße', '-', taken), 'ubung-fur-fusse');
});

test('the form offers what the schemas allow, and all of it', () => {
  const [protocol, drill] = [schema('protocol').properties, schema('drill').properties];
  assert.deepEqual([...lists.slots].sort(), [...protocol.informs.properties.test.enum].sort());
  assert.deepEqual(lists.signs, protocol.not_with.items.enum);
  assert.deepEqual([...lists.parts].sort(), [...drill.targets.items.properties.part.enum].sort());
  assert.deepEqual(lists.modes, drill.mode.enum);
  assert.deepEqual(lists.drillEquipment, drill.equipment.items.items.enum);
  for (const [fresh, wanted] of [[lists.emptyProtocol(), schema('protocol').required], [lists.emptyDrill(), schema('drill').required]]) {
    assert.deepEqual(wanted.filter((key) => key !== 'id' && !(key in fresh)), []);
  }
});

test('a table of a spreadsheet with decimal commas becomes one with points', () => {
  assert.equal(plainTable('Person;Montag\nA;10,5\n'), 'Person,Montag\nA,10.5\n');
  assert.equal(plainTable('Person\tMontag\nA\t10,5\n'), 'Person,Montag\nA,10.5\n');
  assert.equal(plainTable('person,Monday\nA,10.5\n'), 'person,Monday\nA,10.5\n');
});

test('what is wrong is shown where something was touched, after a try to save everywhere', () => {
  const draft = new Draft({ name: '', norms: [{ source: 'x' }], allowed_range: { low: 3, high: 1 } }, () => undefined);
  draft.faults = [{ field: 'name', detail: 'is empty' }, { field: 'norms[0].source', detail: 'names neither a year nor its absence' }, { field: 'allowed_range', detail: 'is empty: low is not below high' }, { field: 'tries', detail: 'is 99; allowed are 1 to 10' }];
  assert.deepEqual(draft.shown, []);
  draft.set('allowed_range.low', 4);
  assert.deepEqual(draft.shown.map((one) => one.field), ['allowed_range']);
  draft.remove('norms', 0);
  assert.equal(draft.shown.length, 2);
  draft.tried = true;
  assert.equal(draft.shown.length, 4);
  assert.equal(faultWords(draft.faults[0]), 'Please fill this in');
  assert.match(faultWords(draft.faults[2]), /lowest/);
  assert.equal(faultWords(draft.faults[3]), 'Between 1 and 10');
  draft.note('norms', 'Norms');
  assert.equal(draft.placeOf('norms[0].source'), 'norms', 'the nearest that is drawn');
  assert.equal(draft.placeOf('photo.first'), undefined);
});

test('numbers with a comma, and what is no number yet', () => {
  const draft = new Draft({}, () => undefined);
  draft.typeNumber('minutes', '4,5');
  assert.equal(draft.get('minutes'), 4.5);
  assert.equal(draft.numberText('minutes'), '4,5', 'stays as typed');
  draft.endTyping('minutes');
  assert.equal(draft.numberText('minutes'), '4.5');
  draft.typeNumber('minutes', '4x');
  assert.equal(draft.get('minutes'), '4x', 'the server says that it is no number');
  draft.typeNumber('minutes', '');
  assert.ok(!('minutes' in draft.document));
});
