// What the server says in whole sentences is found in the catalogue: held against the C++ sources and the data files themselves.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as esbuild from 'esbuild';

globalThis.document ??= { documentElement: {} };
const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
async function load(text) {
  const { outputFiles } = await esbuild.build({
    stdin: { contents: text, resolveDir: join(root, 'web', 'src'), loader: 'ts' }, bundle: true, write: false, format: 'esm', platform: 'node', logLevel: 'error',
  });
  return import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].contents).toString('base64'));
}
const app = await load(`export { sentence, useLanguage, wordFor } from './words/index.js'; export { en } from './words/en.js'; export { de } from './words/de.js'; export { drillsDe } from './words/de_drills.js'; export { protocolsDe } from './words/de_protocols.js'; export { loadProtocolWords, protocolInWords } from './parts/protocol_words.js';
  export { drillInWords, loadDrillWords } from './parts/drill_words.js'; export { drillName, protocolName } from './parts/library_names.js';`);
const read = (path) => readFileSync(join(root, path), 'utf8');
const documents = (folder) => readdirSync(join(root, 'data', folder)).filter((name) => name.endsWith('.json')).map((name) => JSON.parse(read(`data/${folder}/${name}`)));
const drills = documents('drills');
const protocols = documents('protocols');
/** The body of a function of a C++ source, and its string literals; those that stand side by side are one. */
function literals(path, from) {
  const source = read(path);
  const at = source.indexOf(from);
  assert.ok(at >= 0, `${path} has no "${from}"`);
  const body = source.slice(at, source.indexOf('\n}', at)).replace(/\/\/.*$/gm, '').replace(/"\s*\n\s*"/g, '');
  return [...body.matchAll(/"((?:[^"\\]|\\.)*)"/g)].map((hit) => hit[1]).filter((text) => /[a-z]/.test(text));
}
/** Rows of a csv file of the repository: quotes, no line breaks inside. */
const csv = (path) => read(path).split('\n').filter((line) => line && !line.startsWith('#')).map((line) => [...line.matchAll(/(?:^|,)(?:"([^"]*)"|([^,]*))/g)].map((hit) => hit[1] ?? hit[2])).slice(1);
const english = new Set(Object.values(app.en));
const has = (text, where) => assert.ok(english.has(text), `${where}: words/en_server.ts has no "${text}"`);

test('rules to stop, and what is said after a day of drills', () => {
  const rules = literals('src/plan/plan.cpp', 'std::vector<std::string> stop_rules(');
  assert.ok(rules.length >= 5);
  for (const rule of rules) has(rule, 'stop_rules');
  const after = literals('src/app/log_records.cpp', 'std::string stop_text(').filter((text) => / /.test(text));
  assert.ok(after.length >= 2);
  const labels = literals('src/plan/history.cpp', 'kStopSigns = {{').filter((_, i) => i % 2 === 1);
  assert.equal(labels.length, 7);
  for (const label of labels) has(label, 'kStopSigns');
  return german(() => {
    for (const text of after) {
      if (text.endsWith(': ')) for (const label of labels) differs(`${text}${label}.`, label);
      else differs(text);
    }
  });
});

test('what today says in place of drills, and what the log says about a drill and its load', () => {
  const today = literals('src/app/log_today.cpp', 'std::string message_of(').filter((text) => text !== '.');
  assert.ok(today.length >= 6);
  const loads = [...literals('src/plan/load_guidance.cpp', 'std::string why_of('), ...literals('src/plan/load_guidance.cpp', 'LoadAdvice advise_loads(').filter((text) => text.startsWith('Nothing with a load: a'))];
  assert.ok(loads.length >= 5);
  const why = csv('data/plan/progression.csv').map((row) => row[2]);
  assert.ok(why.length >= 26);
  for (const text of why) has(text, 'progression.csv');
  return german(() => {
    for (const text of today) differs(text.endsWith(' on ') ? `${text}2026-11-30.` : text);
    for (const text of loads) differs(text.replace('%s', 'snatch').replace('%g', '62.5'));
    for (const text of why) differs(`${text}: 2026-11-30; there is no easier step, do fewer sets.`);
  });
});

test('warning signs: what is left out, whom to see, and what until then', () => {
  const rows = csv('data/plan/warning_signs.csv');
  assert.ok(rows.length >= 11);
  return german(() => {
    for (const [, , urgent, label, whom, advice] of rows) {
      for (const text of [label, whom, advice]) has(text, 'warning_signs.csv');
      const said = app.sentence(`No drills are given, because of a warning sign.\n${label[0].toUpperCase()}${label.slice(1)}: see ${whom}${urgent === 'yes' ? ' (urgent)' : ''}. ${advice}`);
      for (const word of ['drills', 'warning sign', ': see', advice, label]) assert.ok(!said.includes(word), said);
      assert.equal(said.includes('dringend'), urgent === 'yes');
    }
    for (const head of literals('src/plan/warning_signs.cpp', 'std::string referral_text(').filter((text) => text.endsWith('sign.'))) differs(head);
  });
});

test('what to change first and what it costs, as the plan says it; pass lines', () => {
  const costs = literals('src/reasoning/what_if.cpp', 'std::string_view cost_sentence(').filter((text) => /hip crease|compete|raised heel|shoulders/.test(text));
  assert.equal(costs.length, 4);
  const [toes, ...what] = literals('src/app/plan_targets.cpp', 'std::string change_text(');
  const line = what.pop();
  assert.equal(what.length, 3);
  const filled = (text) => text.replace(/%\.\df/g, () => '12.0');
  return german(() => {
    for (const text of [toes, ...what.map((one) => line.replace('%s', one))]) differs(filled(`${text} ${costs[0]}`));
    for (const text of costs) differs(text);
    for (const one of protocols) if (one.pass_line?.label) differs(one.pass_line.label);
  });
});

test('an unknown sentence stays, a known part of a longer one is said', () => german(() => {
  assert.equal(app.sentence('Nobody knows this sentence.'), 'Nobody knows this sentence.');
  assert.equal(app.sentence(''), '');
  assert.equal(app.sentence('Overhead squat: pipe, bar, light discs: Severe pain: 9 of 10 on 2026-11-20.'), 'Überkopfkniebeuge: Stab, Stange, leichte Scheiben: Starker Schmerz: 9 von 10 am 20. Nov. 2026.');
  assert.equal(app.sentence('Mine: Pain above the limit: 6 of 10 on 2026-11-20, allowed are 5.'), 'Mine: Schmerz über der Grenze: 6 von 10 am 20. Nov. 2026, erlaubt sind 5.');
  assert.equal(app.sentence('By then a gain of 4.2 degrees is expected, more than the 3.9 degrees that the test can show; earlier a difference would be noise.'),
    'Bis dahin ist ein Gewinn von 4,2 Grad zu erwarten, mehr als die 3,9 Grad, die der Test zeigen kann; früher wäre ein Unterschied nur Rauschen.');
}));

test('in English the server is heard as it speaks', () => {
  for (const text of ['Rest today. The next session is on 2026-11-30.', 'dizziness']) assert.equal(app.sentence(text), text);
});

test('names of the built-in tests and drills are those of the data files; own ones keep their name', async () => {
  const names = (prefix, all) => assert.deepEqual(Object.fromEntries(Object.entries(app.en).filter(([key]) => key.startsWith(prefix))), Object.fromEntries(all.map((one) => [prefix + one.id.replaceAll('-', '_'), one.name])));
  names('protocol_name_', protocols);
  names('drill_name_', drills);
  for (const one of protocols) for (const line of one.cautions ?? []) has(line, one.id);
  await german(() => {
    for (const one of protocols) { assert.notEqual(app.protocolName(one), one.name); for (const line of one.cautions ?? []) differs(line); }
    for (const one of drills) assert.notEqual(app.drillName(one), one.name);
    assert.equal(app.drillName({ id: 'mine', name: 'My own' }), 'My own');
  });
});

test('every built-in drill is told in German, line for line', async () => {
  assert.deepEqual(Object.keys(app.drillsDe).sort(), drills.map((one) => one.id).sort());
  for (const drill of drills) {
    const said = app.drillsDe[drill.id];
    for (const part of ['steps', 'cues', 'cautions', 'ladder']) assert.equal(said[part].length, drill[part].length, `${drill.id}: ${part}`);
    const texts = [said.purpose, said.position, ...said.steps, ...said.cues, ...said.cautions, ...said.ladder.flatMap((rung) => Object.values(rung))];
    const source = new Set([drill.purpose, drill.position, ...drill.steps, ...drill.cues, ...drill.cautions, ...drill.ladder.flatMap((rung) => [rung.name, rung.how, rung.easier, rung.harder, rung.move_on])]);
    for (const text of texts) assert.ok(text.trim() && !source.has(text), `${drill.id}: "${text}"`);
    for (const [i, rung] of said.ladder.entries()) {
      const numbers = (text) => [...text.matchAll(/\d+/g)].map((hit) => hit[0]).sort();
      for (const part of ['how', 'easier', 'harder', 'move_on']) for (const n of numbers(rung[part])) assert.ok(numbers(drill.ladder[i][part]).includes(n), `${drill.id}: ${n} is not in "${drill.ladder[i][part]}"`);
    }
  }
  await german(async () => {
    await app.loadDrillWords();
    const drill = drills.find((one) => one.id === 'pause-squat');
    const card = app.drillInWords(drill.id, drill);
    assert.equal(card.ladder[2].how, app.drillsDe['pause-squat'].ladder[2].how);
    assert.equal(card.ladder[2].good_sessions, drill.ladder[2].good_sessions, 'what is no text stays');
    const item = app.drillInWords(drill.id, { name: drill.name, step: 2, step_name: '', step_how: drill.ladder[1].how, cues: drill.cues, cautions: ['one of an older plan'] });
    assert.equal(item.step_how, app.drillsDe['pause-squat'].ladder[1].how);
    assert.deepEqual(item.cautions, ['one of an older plan'], 'another number of lines: as it was written');
    const own = { name: 'Mine', purpose: 'p', steps: ['a'], cues: ['b'] };
    assert.deepEqual(app.drillInWords('mine', own), own);
  });
  await app.loadDrillWords();
  assert.deepEqual(app.drillInWords('hang', { name: 'x', cues: ['y'] }), { name: 'x', cues: ['y'] });
});

test('every built-in test is told in German, step for step', async () => {
  assert.deepEqual(Object.keys(app.protocolsDe).sort(), protocols.map((one) => one.id).sort());
  const numbers = (text) => [...text.matchAll(/\d+/g)].map((hit) => hit[0]).sort();
  for (const one of protocols) {
    const said = app.protocolsDe[one.id];
    assert.equal(said.steps.length, one.steps.length, one.id);
    for (const [german, english] of [[said.purpose, one.purpose], [said.position, one.position], ...said.steps.map((step, i) => [step, one.steps[i]])]) {
      assert.ok(german.trim() && german !== english, `${one.id}: "${english}"`);
      assert.deepEqual(numbers(german), numbers(english), `${one.id}: "${english}" is "${german}"`);
    }
  }
  await german(async () => {
    await app.loadProtocolWords();
    const given = protocols.find((one) => one.id === 'single_leg_balance');
    assert.deepEqual(app.protocolInWords(given).steps, app.protocolsDe['single_leg_balance'].steps);
    const own = { id: 'mine', name: 'Mine', purpose: 'p', position: 'q', steps: ['a'] };
    assert.deepEqual(app.protocolInWords(own), own);
  });
  await app.loadProtocolWords();
  assert.deepEqual(app.protocolInWords(protocols[0]), protocols[0]);
});

async function german(run) {
  await app.useLanguage('de');
  try { await run(); } finally { await app.useLanguage('en'); }
}
/** Said in German, and nothing English left of it. */
function differs(text, part) {
  const said = app.sentence(text);
  assert.notEqual(said, text, `no German for "${text}"`);
  assert.ok(!/\b(the|you|your|of|and|with|a sign|until|drill|drills|pain)\b/.test(said), `"${text}" is "${said}"`);
  if (part) assert.ok(!said.includes(part), said);
}
