// Findings, tests to do next, changes to film, warnings about a clip, re-tests, loads: every piece of text that the C++ sources
// put into such a sentence stands in the English catalogue, so that a sentence that changes there is missed here; and each form
// comes out in German.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as esbuild from 'esbuild';

globalThis.document ??= { documentElement: {} };
const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const { outputFiles } = await esbuild.build({
  stdin: { contents: `export { sentence, useLanguage } from './words/index.js'; export { en } from './words/en.js'; export { de } from './words/de.js'; export { protocolMoreDe } from './words/de_protocols.js';
    export { loadProtocolWords, protocolInWords } from './parts/protocol_words.js';`, resolveDir: join(root, 'web', 'src'), loader: 'ts' },
  bundle: true, write: false, format: 'esm', platform: 'node', logLevel: 'error',
});
const app = await import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].contents).toString('base64'));
const read = (path) => readFileSync(join(root, path), 'utf8');

/** Sources of sentences that screens show; `from` and `to` cut out the functions in question, `not` are literals for programmers. */
const sources = [
  { path: 'src/reasoning/finding.cpp', from: 'std::string confidence_explanation', to: '\n}' },
  { path: 'src/reasoning/finding_parts.cpp' },
  { path: 'src/reasoning/finding_sides.cpp' },
  { path: 'src/reasoning/find_findings.cpp', not: ['the draws were not kept', 'explain with ExplainOptions::samples = Samples::Kept'] },
  { path: 'src/reasoning/setups_to_film.cpp', not: ['no draw has a posture at the bottom', 'the draws were not kept', 'explain with ExplainOptions::samples = Samples::Kept'] },
  { path: 'src/reasoning/change_text.cpp' },
  { path: 'src/reasoning/test_choice.cpp', not: ['the draws were not kept', 'explain with ExplainOptions::samples = Samples::Kept'] },
  { path: 'src/reasoning/what_if.cpp', from: 'std::string_view cost_sentence', to: '\n}' },
  { path: 'src/reasoning/factors.cpp', from: 'std::string_view factor_label', to: '\n}' },
  { path: 'src/reasoning/explain.cpp', from: 'std::string_view test_label', to: '\n}' },
  { path: 'src/reasoning/explain.cpp', from: 'Without mobility tests', to: ';' },
  { path: 'src/reasoning/grip.cpp', from: 'The bar lies in the hip crease', to: '}' },
  { path: 'src/kinematics/camera_check.cpp' },
  { path: 'src/kinematics/foreshortening.cpp', from: 'foreshortening_warning(', to: '\n}' },
  { path: 'src/kinematics/front_view.cpp' },
  { path: 'src/app/measure.cpp' },
  { path: 'src/app/observe.cpp', from: 'nobody was found', to: ';' },
  { path: 'src/app/findings_use_case.cpp', from: 'Warning signs were noted', to: '\n}' },
  { path: 'src/body/test_outcome.cpp', not: ['give the two files that belong together', 'list the protocols with: lintel tests list', 'stored with the result', 'the record is of \\"', '\\", the athlete file of \\"', '\\", which is not known'] },
  { path: 'src/plan/retest.cpp' },
  { path: 'src/plan/planner.cpp', from: 'void add_notes(', to: '\n  }' },
  { path: 'src/plan/planner.cpp', from: 'std::string reason_text(', to: '\n}' },
  { path: 'src/plan/load_guidance.cpp', from: 'std::string why_of(', to: '\n}' },
  { path: 'src/plan/load_guidance.cpp', from: 'LoadAdvice advise_loads(', to: '\n}' },
  { path: 'src/plan/follow_up.cpp', from: 'void watch_training', to: 'void watch_ready' },
  { path: 'src/plan/seated_hold.cpp', from: 'plan.notes.push_back', to: '\n}' },
  { path: 'src/base/text.cpp', from: 'degrees_in_words', to: '\n}' },
];

/** The string literals of a piece of C++ that hold words; those that stand side by side are one. */
function literals({ path, from, to, not = [] }) {
  const source = read(path);
  const at = from ? source.indexOf(from) : 0;
  assert.ok(at >= 0, `${path} has no "${from}"`);
  const body = source.slice(Math.max(0, source.lastIndexOf('\n', at)), to ? source.indexOf(to, at + from.length) : undefined).replace(/^\s*(#include|\/\/).*$/gm, '').replace(/"\s*\n\s*"/g, '');
  return [...body.matchAll(/"((?:[^"\\\n]|\\.)*)"/g)].map((hit) => hit[1]).filter((text) => /[a-z]+ [a-z%]|[a-z] $/.test(text) && !not.includes(text));
}
/** What stands between the numbers and words that are put in. */
const pieces = (text) => text.replaceAll('\\"', '"').replaceAll('%%', '\0').split(/%[-+]?(?:\.\d)?(?:l?d|zu|f|g|s)/).map((one) => one.replaceAll('\0', '%').trim()).filter((one) => /[a-z]{2}/.test(one));
const catalogue = Object.entries(app.en).filter(([key]) => /^(server|said|protocol_name)_/.test(key)).map(([, text]) => text);

test('what the sources say stands in the catalogue, word for word', () => {
  let all = 0;
  for (const source of sources) {
    const found = literals(source);
    assert.ok(found.length > 0, `${source.path}: nothing after "${source.from ?? ''}"`);
    for (const text of found) for (const piece of pieces(text)) {
      all += 1;
      assert.ok(catalogue.some((one) => one.includes(piece) || one.includes(piece.replace(/^[a-z]/, (letter) => letter.toUpperCase()))), `${source.path}: words/en_findings.ts has no "${piece}"`);
    }
  }
  assert.ok(all > 220, `${all} pieces`);
});

/** Sentences that the sources put together from pieces smaller than those between the placeholders here. */
const composed = new Set(`looks_like_ankle looks_like_ankle_knees title_left_side title_right_side side_less_left side_less_right passes_right_only passes_left_only nothing nothing_no_more next_again next_other_hand
  why_more why_same why_others why_more_again why_same_again why_others_again enough_little feet_wider feet_narrower toes_out toes_in heels_up heels_down grip_wider grip_narrower amount_upright amount_lean
  retest_just retest_just_not retest_none trains_little learns_little watch_stalled_may ankle_gives ankle_apart photo_far_left photo_far_right clip_thigh
  clip_turned clip_turn_corrected clip_turn_errs clip_turn_arm clip_front_turned clip_stature form_grip_shoulders`.split(/\s+/));
const said = Object.entries(app.en).filter(([key]) => key.startsWith('said_'));

test('nothing is kept that the sources do not say', () => {
  const files = (folder, ending) => readdirSync(join(root, folder), { withFileTypes: true }).flatMap((one) => (one.isDirectory() ? files(`${folder}/${one.name}`, ending) : ending.test(one.name) ? [`${folder}/${one.name}`] : []));
  const code = [...files('src', /\.(cpp|h)$/), ...files('data/plan', /\.csv$/), ...files('data/protocols', /\.json$/)].map(read).join('\n').replace(/"\s*\n\s*"/g, '').replaceAll('%%', '%').replaceAll('\\"', '"');
  const left = said.filter(([key]) => !composed.has(key.slice(5))).flatMap(([key, text]) => text.split(/\{\w+\}/).map((piece) => piece.trim())
    .filter((piece) => piece.length > 8 && !code.includes(piece) && !code.includes(piece[0].toLowerCase() + piece.slice(1))).map((piece) => `${key}: ${piece}`));
  assert.deepEqual(left, []);
});

const sample = { part: 'ankle range', other: 'habit', sure: 'likely', test: 'Knee to wall, distance', tests: 'Hip abduction, lying; Knee to wall, distance', side: 'left', unit: 'cm', unit_2: 'cm', unit_3: 'cm', verdict: 'short of',
  size: '1.7 degrees', amount: '3 deg more upright', amount_2: 'no change', changes: 'Heels up to 2.5 cm; feet wider: ankles 44 cm apart', basis: 'published gains', drill: 'Hang', day: '2026-11-30', why: 'too few frames show ankles, knees, hips and shoulders' };
const numbers = { n1: '12', n2: '-3.5', n3: '40', n4: '99', n5: '7', n6: '2', weeks: '8' };
const fill = (text) => text.replace(/\{(\w+)\}/g, (_, name) => numbers[name] ?? sample[name] ?? 'xyz');
const english = /\b(the|you|your|of|and|with|until|from|this|that|than|less|more|is|are|not|by|to|degrees|at|for|no|left|right|likely|range|habit|feet|heels)\b(?![äöüß])/;

test('every form is said in German, with its numbers', async () => {
  assert.ok(said.length > 280);
  await german(() => {
    for (const [key, text] of said) {
      const full = fill(text);
      const spoken = app.sentence(full);
      assert.notEqual(spoken, full, `no German for "${full}"`);
      assert.equal(english.exec(spoken)?.[0], undefined, `${key}: "${full}" is "${spoken}"`);
      const inGerman = app.de[key].replace(/\{(\w+)\}/g, '').replace(/\{/g, '');
      assert.ok(!/\{|\}/.test(spoken), spoken);
      for (const name of [...app.de[key].matchAll(/\{(n\d)\}/g)].map((hit) => hit[1])) assert.ok(spoken.includes(numbers[name].replace('.', ',')), `${key}: ${numbers[name]} is not in "${spoken}" (${inGerman})`);
    }
  });
});

test('in English the server is heard as it speaks', () => {
  for (const [, text] of said) assert.equal(app.sentence(fill(text)), fill(text));
});

test('sentences as they come together', () => german(() => {
  const is = (text, spoken) => assert.equal(app.sentence(text), spoken);
  is('Costs 2 deg of lean (95 %: 1 to 4); clear (81 %), the largest part with probability 0 %. In the clip the heels come off the floor. Not tested: Hip abduction, lying; Hip external rotation, sitting.',
    'Kostet 2° Neigung (95 %: 1 bis 4); deutlich (81 %), mit 0 % Wahrscheinlichkeit der größte Teil. Im Clip heben die Fersen vom Boden ab. Nicht getestet: Hüftabduktion in Rückenlage; Hüftaußenrotation im Sitzen.');
  is('Thoracic rotation, sitting on the heels, right: 41 deg +/- 2 deg, passes 40 deg', `${app.de.protocol_name_thoracic_rotation_heel_sit}, rechts: 41 deg +/- 2 deg, erreicht 40 deg`);
  is('Heels up to 2.5 cm; feet wider: ankles 44 cm apart (a plate under the heels)', 'Fersen hoch auf 2,5 cm; Füße weiter auseinander: 44 cm zwischen den Sprunggelenken (eine Scheibe unter die Fersen)');
  is('Predicted 13 deg more upright (95 %: -17 to +2 deg of lean). To find out, not to keep.', 'Vorhergesagt: 13° aufrechter (95 %: -17 bis +2° Neigung). Zum Herausfinden, nicht zum Beibehalten.');
  is('the squat could not be measured: too few frames show ankles, knees, hips and shoulders', 'die Kniebeuge ließ sich nicht messen: zu wenige Bilder zeigen Sprunggelenke, Knie, Hüften und Schultern');
  is('Costs 2 deg of something unknown.', 'Costs 2 deg of something unknown.');
}));

test('what a built-in test tells, where its camera stands and whom its norms are of', async () => {
  const protocols = readdirSync(join(root, 'data/protocols')).filter((name) => name.endsWith('.json')).map((name) => JSON.parse(read(`data/protocols/${name}`)));
  const digits = (text) => [...(text ?? '').matchAll(/\d+/g)].map((hit) => hit[0]).sort();
  assert.deepEqual(Object.keys(app.protocolMoreDe).sort(), protocols.map((one) => one.id).sort());
  await german(async () => {
    await app.loadProtocolWords();
    for (const one of protocols) {
      const told = app.protocolInWords(one);
      const pairs = [[told.informs?.text, one.informs?.text], [told.photo?.camera, one.photo?.camera], [told.norms_note, one.norms_note], ...(one.norms ?? []).map((norm, i) => [told.norms[i].population, norm.population])];
      for (const [spoken, source] of pairs.filter((pair) => pair[1])) {
        assert.notEqual(spoken, source, one.id);
        assert.deepEqual(digits(spoken), digits(source), `${one.id}: "${source}" is "${spoken}"`);
      }
      for (const [i, norm] of (one.norms ?? []).entries()) assert.equal(told.norms[i].mean, norm.mean);
    }
  });
  await app.loadProtocolWords();
  assert.deepEqual(app.protocolInWords(protocols[0]), protocols[0]);
});

async function german(run) {
  await app.useLanguage('de');
  try { await run(); } finally { await app.useLanguage('en'); }
}
