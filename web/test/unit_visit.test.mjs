// The parts of the visit's screens that need no browser: frames and times, angles, parts of the lean, setups, questions.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as esbuild from 'esbuild';

const pages = join(dirname(fileURLToPath(import.meta.url)), '..', 'src', 'pages');
async function load(...names) {
  const { outputFiles } = await esbuild.build({
    stdin: { contents: names.map((name) => `export * from './${name}.js';`).join('\n'), resolveDir: pages, loader: 'ts' }, bundle: true, write: false, format: 'esm', platform: 'node',
    logLevel: 'error', tsconfigRaw: { compilerOptions: { experimentalDecorators: true, useDefineForClassFields: false } },
  });
  return import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].contents).toString('base64'));
}
// What the modules touch of a browser while they are loaded.
globalThis.addEventListener ??= () => undefined;
globalThis.localStorage ??= { getItem: () => null, setItem: () => undefined };
if (typeof navigator === 'undefined' || !('onLine' in navigator)) Object.defineProperty(globalThis, 'navigator', { value: { onLine: true, language: 'en' }, configurable: true });

test('the picture on the screen is the last one that has begun, also at an uneven rate', async () => {
  const { frameAt, timeInside, indexOfFrame } = await load('player_frames');
  const even = Array.from({ length: 300 }, (_, i) => i / 29.97);
  const uneven = [0, 0.033, 0.1, 0.104, 0.2];
  for (const times of [even, uneven]) {
    for (let i = 0; i < times.length; i++) {
      assert.equal(frameAt(times, times[i]), i);
      assert.equal(frameAt(times, timeInside(times, i)), i, 'a seek into a picture shows that picture');
      assert.ok(timeInside(times, i) > times[i]);
      assert.ok(i + 1 === times.length || timeInside(times, i) < times[i + 1]);
    }
  }
  assert.equal(frameAt(uneven, -1), 0);
  assert.equal(frameAt(uneven, 99), 4);
  assert.equal(frameAt(even, Number(even[100].toFixed(6))), 100, 'rounding on the way changes nothing');
  assert.equal(indexOfFrame([0, 3, 6, 9], 4), 1);
  assert.equal(indexOfFrame([0, 3, 6, 9], 5), 2);
});

test('angles from points are those of the notation: signs, zeroes, either side, a tilted camera', async () => {
  const { anglesByHand } = await load('player_data');
  const { inclination, along, distance } = await load('visit_geometry');
  assert.equal(inclination([0, 0], [0, -10]), 0);
  assert.ok(Math.abs(inclination([0, 0], [10, -10]) - 45) < 1e-12);
  assert.ok(Math.abs(inclination([0, 0], [-10, -10], -1) - 45) < 1e-12, 'forward is forward when the athlete faces left');
  // A squat made of given angles gives them back (docs/notation.md), mirrored and rolled too.
  const given = { trunk: 38, shank: 29, thigh: 95, arm: 4 };
  for (const facing of [1, -1]) {
    for (const roll of [0, 3.5]) {
      const at = (p, angle, length) => along(p, facing * angle + roll, length);
      const ankle = [300, 900];
      const knee = at(ankle, given.shank, 170);
      const hip = at(knee, -given.thigh, 175);
      const shoulder = at(hip, given.trunk, 210);
      const bar = at(shoulder, given.arm, 240);
      const angles = anglesByHand({ ankle, knee, hip, shoulder, bar }, facing, roll);
      const close = (name, value) => assert.ok(Math.abs(angles[name] - value) < 1e-9, `${name}: ${angles[name]} for ${value}`);
      close('trunk_inclination', given.trunk);
      close('shank_inclination', given.shank);
      close('thigh_inclination', given.thigh);
      close('knee_flexion', given.thigh + given.shank);
      close('hip_flexion', given.trunk + given.thigh);
      close('shoulder_elevation', 180 + given.trunk - given.arm);
      assert.ok(Math.abs(distance(hip, shoulder) - 210) < 1e-9);
    }
  }
});

test('labels keep their distance and their order', async () => {
  const { spread } = await load('visit_geometry');
  for (const wishes of [[10, 11, 12, 13], [5, 5, 5], [30, 2, 17], [39, 38.9, 12]]) {
    const places = spread(wishes, 6, 0, 60);
    const order = (list) => list.map((value, i) => [value, i]).sort((a, b) => a[0] - b[0] || a[1] - b[1]).map(([, i]) => i);
    assert.deepEqual(order(places), order(wishes));
    const sorted = [...places].sort((a, b) => a - b);
    for (let i = 1; i < sorted.length; i++) assert.ok(sorted[i] - sorted[i - 1] > 5.9, `${places}`);
  }
});

test('the rows of the lean sum to the whole, and the slices reach from the trunk to the reference', async () => {
  const { shownParts, slices, inTen } = await load('why_parts');
  const share = (factor, share_deg) => ({ factor, label: factor, share_deg, spread_95_deg: { low: share_deg - 1, high: share_deg + 1 }, probability_largest: 0.1 });
  const parts = [share('stance', 5.58), share('toe_out', 2.44), share('heel', 6.26), share('grip', -0.09), share('ankle', 9.09), share('hip', 0), share('thorax', 0.07), share('shoulder', 0.02), share('latissimus', 0.06), share('habit', 3.47)];
  const shown = shownParts({ parts });
  assert.deepEqual(shown.map((one) => one.factor), ['ankle', 'heel', 'stance', 'habit', 'toe_out', 'rest']);
  const whole = parts.reduce((sum, one) => sum + one.share_deg, 0);
  assert.ok(Math.abs(shown.reduce((sum, one) => sum + one.share, 0) - whole) < 1e-12);
  const cut = slices(shown, 39.2);
  assert.equal(cut[0].from, 39.2);
  for (let i = 1; i < cut.length; i++) assert.equal(cut[i].from, cut[i - 1].to);
  assert.ok(Math.abs(cut.at(-1).to - (39.2 - whole)) < 0.06);
  assert.deepEqual(['no', 'in_ten', 'in_ten', 'sure'], [0.01, 0.06, 0.73, 0.97].map((p) => inTen(p).key));
  assert.equal(inTen(0.73).n, 7);
});

test('a setup goes through an address and back; ranges are no setup', async () => {
  const { setupOf, setupQuery, readSetupQuery } = await load('visit_setup');
  const setup = setupOf([{ lever: 'heel', from_cm: 0, to_cm: 2.5 }, { lever: 'toe_out', from_deg: 16, to_deg: 30 }, { lever: 'ankle_range', from_deg: 31, to_deg: 36 }]);
  assert.deepEqual(setup, { heel_elevation_cm: 2.5, toe_out_deg: 30 });
  assert.deepEqual(readSetupQuery(setupQuery(setup)), setup);
  assert.deepEqual(readSetupQuery('heel_elevation_cm:abc,mass:3,toe_out_deg:12'), { toe_out_deg: 12 });
  assert.deepEqual(readSetupQuery(null), {});
});

test('while an answer is on its way only the newest question is kept', async () => {
  const { Asker } = await load('what_if_asker');
  const sent = [];
  const answered = [];
  let release;
  const asker = new Asker((question) => new Promise((done) => { sent.push(question); release = () => done(question * 10); }), (answer, question) => answered.push([question, answer]), assert.fail);
  for (let i = 1; i <= 5; i++) asker.put(i);
  assert.deepEqual(sent, [1], 'one at a time');
  const turn = () => new Promise((done) => setImmediate(done));
  release();
  await turn();
  assert.deepEqual(sent, [1, 5], 'those between are forgotten');
  release();
  await turn();
  assert.deepEqual(answered, [[1, 10], [5, 50]]);
  asker.put(6);
  asker.stop();
  release();
  await turn();
  assert.equal(answered.length, 2, 'nothing is shown after the end');
});

test('sentences of the server read as people write', async () => {
  const { nice } = await load('visit_base');
  assert.equal(nice('trunk 39 deg from vertical +/- 2, -3 to 10 degrees (95 %: -16 to -11 deg)'), 'trunk 39° from vertical ± 2, −3 to 10° (95 %: −16 to −11°)');
});

test('while a jump is on its way only the last wish is kept, and its arrival is told', async () => {
  const { Seeker, filmsOf } = await load('player_frames');
  const listeners = {};
  const asked = [];
  const video = {
    readyState: 4, now: 0, addEventListener: (name, call) => { listeners[name] = call; }, removeEventListener: () => undefined,
    get currentTime() { return this.now; }, set currentTime(time) { asked.push(time); this.now = time; },
  };
  let arrived = 0;
  const seeker = new Seeker(video, () => { arrived++; });
  for (const time of [1, 2, 3, 4]) seeker.to(time);
  assert.deepEqual([asked, arrived], [[1], 0]);
  listeners.seeked();
  assert.deepEqual([asked, arrived], [[1, 4], 0], 'on to the last wish at once, without 2 and 3');
  listeners.seeked();
  assert.equal(arrived, 1);
  seeker.to(4);
  assert.deepEqual([asked, arrived], [[1, 4], 2], 'what is on the screen already has arrived');
  // The server's copy first where there is one; then the clip, then the film with the drawing.
  const trial = (results) => ({ id: 'T', document: { results } });
  assert.deepEqual(filmsOf(trial([{ name: 'screen.mp4' }])), ['/api/v1/trials/T/files/screen.mp4', '/api/v1/trials/T/clip', '/api/v1/trials/T/files/overlay.mp4']);
  assert.deepEqual(filmsOf(trial([])), ['/api/v1/trials/T/clip', '/api/v1/trials/T/files/overlay.mp4']);
});

test('a point moved while an earlier one is saved, measured or read is kept', async () => {
  const { Keeping, Fault } = await load('player_keeping', '../api/fault');
  const at = (record) => Object.fromEntries((record.document.corrections?.points ?? []).map((p) => [`${p.frame}:${p.landmark}`, [p.x_px, p.y_px]]));
  /** A server with versions; `before` runs when a write has arrived and is not answered yet. */
  function server(before = []) {
    const stale = () => new Fault(412, 'stale', '');
    const state = { record: { id: 't', version: 1, document: { name: 'clip', corrections: null } }, puts: 0 };
    state.write = (document) => { state.record = { id: 't', version: state.record.version + 1, document }; };
    state.road = {
      get: async () => structuredClone(state.record),
      put: async (record) => {
        const first = before[state.puts++];
        if (first) await first(state);
        if (record.version !== state.record.version) throw stale();
        state.write(record.document);
        return structuredClone(state.record);
      },
    };
    return state;
  }
  // Moved while the first is on its way: it is not in that write, so it still waits, also after the record is read anew.
  {
    let keeping;
    const it = server([() => { keeping.move('9:right_hip', [5, 6]); keeping.move('3:right_hip', [7, 8]); }]);
    keeping = new Keeping(structuredClone(it.record), it.road);
    keeping.move('3:right_hip', [1, 2]);
    await keeping.save();
    assert.deepEqual(at(it.record), { '3:right_hip': [1, 2] });
    keeping.renew(await it.road.get());
    assert.deepEqual([...keeping.points], [['3:right_hip', [7, 8]], ['9:right_hip', [5, 6]]], 'what is shown is what the hand did last');
    assert.ok(keeping.waits('9:right_hip') && keeping.waits('3:right_hip'));
    await keeping.save();
    assert.deepEqual(at(it.record), { '3:right_hip': [7, 8], '9:right_hip': [5, 6] });
    assert.equal(keeping.waiting, false);
  }
  // Two saves at once go one after the other, and a shifted event takes a point along that was moved just before.
  {
    const it = server();
    const keeping = new Keeping(structuredClone(it.record), it.road);
    keeping.move('1:right_knee', [1, 1]);
    const both = [keeping.save(), keeping.save((now) => ({ ...now, events: [{ repetition: 1, event: 'bottom', frame: 4 }] }))];
    keeping.move('2:right_knee', [2, 2]);
    await Promise.all(both);
    assert.deepEqual(at(it.record), { '1:right_knee': [1, 1], '2:right_knee': [2, 2] });
    assert.equal(it.record.document.corrections.events.length, 1);
  }
  // The measuring and a colleague write between: both changes stand.
  {
    const it = server([(state) => state.write({ name: 'renamed', corrections: { points: [{ frame: 8, landmark: 'right_toe', x_px: 3, y_px: 3 }] } })]);
    const keeping = new Keeping(structuredClone(it.record), it.road);
    keeping.move('1:right_knee', [1, 1]);
    await keeping.save();
    assert.equal(it.puts, 2);
    assert.equal(it.record.document.name, 'renamed');
    assert.deepEqual(at(it.record), { '8:right_toe': [3, 3], '1:right_knee': [1, 1] });
  }
  // An answer that was overtaken is no news; a write that fails keeps the point waiting; undo takes all back.
  {
    const it = server([undefined, () => { throw new Fault(0, 'offline', ''); }]);
    const old = structuredClone(it.record);
    const keeping = new Keeping(structuredClone(it.record), it.road);
    keeping.move('1:right_knee', [1, 1]);
    await keeping.save();
    keeping.renew(old);
    assert.equal(keeping.record.version, 2);
    keeping.move('2:right_knee', [2, 2]);
    await assert.rejects(keeping.save());
    assert.ok(keeping.waits('2:right_knee'));
    await keeping.save();
    assert.deepEqual(Object.keys(at(it.record)), ['1:right_knee', '2:right_knee']);
    await keeping.undo();
    assert.deepEqual(at(it.record), {});
    assert.equal(keeping.points.size, 0);
  }
});
