// The screens of a visit for screenshots.mjs and the tests that walk all screens: [{ name, path, act?(page), client? }].
import { Client, passphrase } from './harness.mjs';

/** The visit with the most measured clips, and those clips. */
export async function richestVisit(owner, place) {
  let best = { visit: place.visit, trials: [] };
  for (const visit of place.visits) {
    const { items } = (await owner.send('GET', `/visits/${visit}/trials`)).data;
    if (items.length > best.trials.length) best = { visit, trials: items.map((one) => one.id) };
  }
  return best;
}

/** Any visit of anybody with two measured clips: to look at side by side. */
async function twoTrials(owner, place) {
  for (const athlete of [place.athlete, ...place.others]) {
    const visits = (await owner.send('GET', `/athletes/${athlete}/visits`)).data.items.map((one) => one.id);
    const best = await richestVisit(owner, { visit: '', visits });
    if (best.trials.length > 1) return best;
  }
  return undefined;
}

export async function visitScreens(owner, place) {
  const { visit, trials } = await richestVisit(owner, place);
  const own = new Client(owner.url);
  await own.signIn('ansa', passphrase);
  const base = `/visits/${visit}`;
  const pair = await twoTrials(owner, place);
  return [
    { name: 'visit', path: base },
    ...(trials[0] ? [{ name: 'player', path: `${base}/film/${trials[0]}` }] : []),
    ...(pair ? [{ name: 'compare', path: `/visits/${pair.visit}/film/compare?a=${pair.trials[0]}&b=${pair.trials[1]}` }] : []),
    { name: 'visit-tests', path: `${base}/tests` }, { name: 'test-entry', path: `${base}/tests/knee_to_wall_distance` },
    { name: 'why', path: `${base}/why` }, { name: 'what-if', path: `${base}/what-if` },
    { name: 'plan', path: `${base}/plan` }, { name: 'report', path: `${base}/report` },
    { name: 'today', path: '/me', client: own }, { name: 'live', path: '/live' },
  ];
}
