// German from end to end: what the server answers about the demo club is said in German, sentence for sentence, and the screens of
// a visit and of an athlete hold no English words but those that people wrote, sources and names.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import * as esbuild from 'esbuild';
import { inTheClub, open, root } from './harness.mjs';

const club = inTheClub({ locale: 'de-DE' });
globalThis.document ??= { documentElement: {} };
const { outputFiles } = await esbuild.build({ stdin: { contents: `export { sentence, useLanguage } from './words/index.js';`, resolveDir: join(root, 'web', 'src'), loader: 'ts' }, bundle: true, write: false, format: 'esm', platform: 'node', logLevel: 'error' });
const app = await import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].contents).toString('base64'));

const english = /\b(the|you|your|of|and|with|until|from|this|that|than|less|more|is|are|not|by|to|degrees|at|for|no|left|right)\b(?![äöüß])/;
/** What people wrote in the story of the club, and sources and notes of the data files: nobody translates them. */
const texts = (value) => (typeof value === 'string' ? [value] : value && typeof value === 'object' ? Object.values(value).flatMap(texts) : []);
const file = (path) => JSON.parse(readFileSync(join(root, path), 'utf8'));
const written = new Set(texts(file('examples/skarnholm/club.json')));
const sourcesIn = (value) => (value && typeof value === 'object' ? Object.entries(value).flatMap(([key, one]) => (/source|note/.test(key) && typeof one === 'string' ? [one] : sourcesIn(one))) : []);
const sources = ['protocols', 'drills'].flatMap((folder) => readdirSync(join(root, 'data', folder)).filter((name) => name.endsWith('.json')).flatMap((name) => sourcesIn(file(`data/${folder}/${name}`))));
const byPeople = (text) => [...written].some((one) => one.length > 3 && text.includes(one)) || sources.some((one) => text.includes(one));

/** The newest visit of each athlete of the club. */
async function visits() {
  const { items } = await club.get('/athletes?limit=100');
  const all = await Promise.all(items.map(async ({ athlete }) => (await club.get(`/athletes/${athlete}/visits`)).items.slice(0, 1).map((visit) => ({ athlete, visit: visit.id }))));
  return all.flat();
}
/** A trunk that was measured elsewhere stands for a clip, so that there is a lean to explain. */
async function withTrunk(visit) {
  const kept = (await club.owner.send('GET', `/visits/${visit}`)).data;
  if (kept.document.trunk) return;
  await club.owner.send('PUT', `/visits/${visit}`, { ...kept.document, trunk: { inclination_deg: 41, standard_error_deg: 3, method: 'inclinometer' } }, { 'If-Match': `"${kept.version}"` });
}

test('every sentence of the answers about the demo club has its German', async () => {
  const said = new Map();
  const take = (where, list) => { for (const text of list) if (text) said.set(text, where); };
  for (const [i, { athlete, visit }] of (await visits()).entries()) {
    if (i < 3) { // some seconds each
      await withTrunk(visit);
      const found = await club.get(`/visits/${visit}/findings`);
      take('findings', [found.how_sure, ...found.remarks, found.explanation?.cannot_tell, found.next_tests?.sentence, ...(found.next_tests?.options ?? []).flatMap((one) => [one.label, one.why])]);
      for (const one of found.findings) take('findings', [one.title, one.sentence, one.conflict, ...one.evidence.map((row) => row.text)]);
      for (const one of found.setups_to_film) take('setups to film', [one.how, one.why, one.shows, ...one.costs.map((cost) => cost.text)]);
      const table = found.explanation?.what_if;
      for (const row of [...(table?.single ?? []), table?.best_pair, table?.best_triple, table?.best_setup]) take('what if', (row?.costs ?? []).map((cost) => cost.text));
    }
    take('tests', (await club.get(`/visits/${visit}/tests`)).outcome?.remarks ?? []);
    const progress = await club.get(`/athletes/${athlete}/progress`).catch(() => undefined);
    take('progress', [progress?.loads?.why, progress?.loads?.note, ...(progress?.drills ?? []).map((one) => one.reason), ...(progress?.watch ?? []).map((one) => one.text)]);
    const today = await club.get(`/athletes/${athlete}/today`);
    take('today', [today.message, today.referral, ...(today.stop_rules ?? [])]);
    for (const { document: { plan } } of (await club.get(`/athletes/${athlete}/plans`)).items) {
      take('plan', [plan.referral, ...plan.notes, ...plan.stop_rules, ...plan.drills.map((one) => one.reason), ...plan.retests.map((one) => one.reason), ...plan.setup_changes.map((one) => one.text), ...(plan.seated_hold?.notes ?? [])]);
    }
  }
  assert.ok(said.size > 120, `${said.size} sentences`);
  await app.useLanguage('de');
  try {
    const left = [...said].flatMap(([text, where]) => {
      const spoken = app.sentence(text);
      return spoken === text || english.test(spoken) ? [`${where}: "${text}" is "${spoken}"`] : [];
    });
    assert.deepEqual(left, []);
  } finally { await app.useLanguage('en'); }
});

/** Every piece of text of a page, and what is read out or written in a field. */
function textsOf(page) {
  return page.evaluate(() => {
    for (const one of document.querySelectorAll('details')) one.open = true;
    const found = [];
    const walk = (node) => {
      if (node.nodeType === Node.TEXT_NODE) found.push(node.textContent.replace(/\s+/g, ' ').trim());
      if (node.nodeType !== Node.ELEMENT_NODE || /SCRIPT|STYLE|NOSCRIPT/.test(node.tagName)) return;
      for (const name of ['aria-label', 'title', 'alt', 'placeholder']) found.push(node.getAttribute(name) ?? '');
      for (const child of node.childNodes) walk(child);
    };
    walk(document.body);
    return found.filter(Boolean);
  });
}

test('the screens of a visit and of an athlete are German', async () => {
  const { athlete, visit } = club.place;
  await withTrunk(visit);
  const base = `/visits/${visit}`;
  await club.get(`${base}/findings`); // some seconds; the pages have it at once then
  const made = await club.context();
  const page = await made.newPage();
  const left = [];
  let seen = 0;
  const look = async (path) => {
    const list = await textsOf(page);
    seen += list.length;
    for (const text of list) if (english.test(text) && !byPeople(text)) left.push(`${path}: ${text}`);
  };
  for (const path of [`/athletes/${athlete}`, `/athletes/${athlete}/today`, base, `${base}/film`, `${base}/tests`, `${base}/tests/knee_to_wall_distance`, `${base}/tests/hip_flexion_supine`, `${base}/tests/hip_flexion_supine/photo`, `${base}/plan`, `${base}/report`, '/protocols/thoracic_rotation_heel_sit', '/drills/bar-hang']) {
    await open(page, path);
    await look(path.replace(visit, 'VISIT').replace(athlete, 'ATHLETE'));
  }
  await open(page, `${base}/why`);
  const parts = page.locator('.part-head');
  assert.ok(await parts.count() > 3);
  for (let i = 0; i < await parts.count(); i += 1) {
    await parts.nth(i).click();
    await page.waitForSelector('.part.open');
    await look('why');
  }
  await open(page, `${base}/what-if`);
  await page.waitForSelector('.film-next');
  await look('what-if');
  assert.ok(seen > 1000, `${seen} pieces of text`);
  assert.deepEqual([...new Set(left)], []);
  await made.close();
});
