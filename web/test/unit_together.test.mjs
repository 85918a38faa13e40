// Nothing that somebody typed is lost: two changes of one record, a request sent twice, a stream that broke off.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as esbuild from 'esbuild';

const source = join(dirname(fileURLToPath(import.meta.url)), '..', 'src', 'api');
async function load(...names) {
  const { outputFiles } = await esbuild.build({
    stdin: { contents: names.map((name) => `export * from './${name}.js';`).join('\n'), resolveDir: source, loader: 'ts' }, bundle: true, write: false, format: 'esm', platform: 'neutral', logLevel: 'error',
  });
  return import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].contents).toString('base64'));
}
const answer = (status, body, etag = '') => new Response(JSON.stringify(body), { status, headers: { 'Content-Type': 'application/json', ETag: etag } });
const settled = () => new Promise((done) => setImmediate(done));

test('two changes of one document come together; where both changed the same, mine stands and is named', async () => {
  const { together } = await load('together');
  const base = { name: 'A', body: { mass_kg: 60, stature_cm: 170 }, signs: ['pain', 'fever'], trunk: { inclination_deg: 40, method: 'eye' }, notes: 'n', consent: { given: false } };
  const mine = { ...base, body: { mass_kg: 61, stature_cm: 170 }, signs: ['fever', 'dizziness'], consent: { given: true, by: 'A' } };
  const theirs = { ...base, body: { mass_kg: 60, stature_cm: 171, foot_cm: 25 }, signs: ['pain', 'fever', 'numbness'], notes: undefined };
  assert.deepEqual(JSON.parse(JSON.stringify(together(base, mine, theirs))), {
    document: { name: 'A', body: { mass_kg: 61, stature_cm: 171, foot_cm: 25 }, signs: ['fever', 'numbness', 'dizziness'], trunk: base.trunk, consent: { given: true, by: 'A' } }, both: [] });
  assert.deepEqual(together(base, { ...base, body: { mass_kg: 61 } }, { ...base, body: { mass_kg: 62, stature_cm: 170 } }).both, ['body.mass_kg']);
  // One statement is not put together of two halves.
  const trunk = together(base, { ...base, trunk: { inclination_deg: 44, method: 'eye' } }, { ...base, trunk: { inclination_deg: 40, method: 'still' } });
  assert.deepEqual([trunk.document.trunk, trunk.both], [{ inclination_deg: 44, method: 'eye' }, ['trunk']]);
});

test('tests of a visit come together by protocol and side', async () => {
  const { together } = await load('together');
  const entry = (protocol, side, ...tries) => ({ protocol, ...(side ? { side } : {}), tries_cm: tries });
  const base = { results: [entry('wall', 'left', 7), entry('sit', '', 3)] };
  const mine = { results: [entry('sit', '', 3), entry('wall', 'left', 8)] };
  const theirs = { results: [entry('wall', 'left', 7), entry('wall', 'right', 9)] }; // they took "sit" out
  const { document, both } = together(base, mine, theirs);
  assert.deepEqual([document.results, both], [[entry('wall', 'left', 8), entry('wall', 'right', 9)], []]);
  assert.deepEqual(together(base, mine, { results: [entry('wall', 'left', 6)] }).both, ['results.wall left']);
});

test('a write on top of somebody else’s goes on top of it; a real conflict is told; what had arrived is not written again', async (t) => {
  const { putTogether } = await load('together');
  const server = { version: 2, document: { a: 1, b: 2 }, puts: 0 };
  t.mock.method(globalThis, 'fetch', async (_path, { method, headers, body }) => {
    if (method === 'GET') return answer(200, { version: server.version, document: server.document });
    server.puts++;
    if (headers['If-Match'] !== `"${server.version}"`) return answer(412, { title: 'stale', detail: '' });
    server.document = JSON.parse(body);
    return answer(200, { version: ++server.version, document: server.document });
  });
  const read = { version: 1, document: { a: 1, b: 1 } };
  const { data } = await putTogether('/x', read, { a: 5, b: 1 });
  assert.deepEqual([data.version, server.document], [3, { a: 5, b: 2 }]);
  await assert.rejects(putTogether('/x', read, { a: 1, b: 7 }), (fault) => fault.stale);
  assert.deepEqual(server.document, { a: 5, b: 2 }, 'nobody’s change is lost without a word');
  server.puts = 0;
  await putTogether('/x', read, { a: 5, b: 1 });
  assert.deepEqual([server.puts, server.version], [1, 3]);
});

test('pressed twice it is one request; after a broken connection it goes again under the same key', async (t) => {
  const { api } = await load('client');
  const keys = [];
  let next;
  t.mock.method(globalThis, 'fetch', (_path, { headers }) => { keys.push(headers['Idempotency-Key']); return next(); });
  let arrive;
  next = () => new Promise((done) => { arrive = () => done(answer(201, { id: 1 })); });
  const both = [api.post('/visits', { date: 1 }), api.post('/visits', { date: 1 })];
  await settled();
  arrive();
  assert.deepEqual((await Promise.all(both)).map((one) => one.data.id), [1, 1]);
  assert.equal(keys.length, 1);
  next = async () => { throw new TypeError('connection reset'); };
  await assert.rejects(api.post('/visits', { date: 1 }), (fault) => fault.offline);
  next = async () => answer(201, { id: 2 });
  await api.post('/visits', { date: 1 });
  await api.post('/visits', { date: 1 }); // wanted once more: another one
  await api.post('/visits', { date: 2 });
  assert.equal(keys[1], keys[2]);
  assert.equal(new Set(keys).size, 4);
});

test('a stream of news that was refused does not leave one waiting for ever', async (t) => {
  const { watchJob } = await load('events');
  t.mock.timers.enable({ apis: ['setTimeout'] });
  let stream;
  globalThis.EventSource = class { static CLOSED = 2; constructor() { stream = this; } addEventListener() {} close() {} };
  t.after(() => { delete globalThis.EventSource; });
  const states = ['running', 'running', 'done'];
  t.mock.method(globalThis, 'fetch', async () => answer(200, { id: 'j', state: states.shift() }));
  let done = 0;
  watchJob('j', { done: () => { done++; } });
  stream.readyState = 2;
  stream.onerror();
  for (let i = 0; i < 6; i++) { t.mock.timers.tick(1500); for (let k = 0; k < 5; k++) await settled(); }
  assert.deepEqual([done, states], [1, []]);
});
