// Papers looked at inside of the page: drawn, read out, turned, enlarged, closed; on the report and on the plan.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { axe, Client, launch, open, placeOf, seen, sizes, smallTargets, startServer, useSession, watched } from './harness.mjs';

let server, browser, owner, plan, page;
const asked = [];

before(async () => {
  server = await startServer({ caseload: 'club' });
  owner = new Client(server.url);
  await owner.signIn('runa');
  const { athlete } = await placeOf(owner);
  plan = (await owner.send('GET', `/athletes/${athlete}/plans`)).data.items[0];
  browser = await launch();
  const context = await watched(browser, server.url, { deviceScaleFactor: 2, reducedMotion: 'reduce', serviceWorkers: 'block' });
  await useSession(context, owner, server.url);
  page = await context.newPage();
  page.on('request', (request) => asked.push(new URL(request.url()).pathname));
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const file = (name) => `/api/v1/plans/${plan.id}/files/${name}`;
/** Waits until this page of this paper is on its canvas. */
const drawn = (name, number) => page.waitForFunction(([words, n]) => document.querySelector('lt-paper canvas')?.getAttribute('aria-label')?.startsWith(`${words}, page ${n} of`), [name, number], { timeout: 30000 });
/** Shares of dark and of white dots, and a sum that tells two pictures apart. */
const picture = () => page.evaluate(() => {
  const canvas = document.querySelector('lt-paper canvas');
  const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
  let [dark, white, sum] = [0, 0, 0];
  for (let i = 0; i < data.length; i += 4) {
    const light = data[i] + data[i + 1] + data[i + 2];
    if (light < 300) dark++;
    if (light > 740) white++;
    sum = (sum * 31 + light) % 1000000007;
  }
  const dots = data.length / 4;
  return { dark: dark / dots, white: white / dots, sum, width: canvas.width, height: canvas.height, shown: canvas.getBoundingClientRect().width };
});
const words = () => page.textContent('lt-paper .paper-words');
const press = (name) => page.locator('lt-paper').getByRole('button', { name, exact: true }).click();

test('a paper of the report is drawn in the page', async () => {
  await open(page, `/visits/${plan.document.visit}/report`);
  const pdfFiles = () => asked.filter((path) => /paper_pdf|pdf_worker|\.pdf$/.test(path));
  assert.deepEqual(pdfFiles(), [], 'nothing of it is fetched before');
  const opener = page.locator('.paper', { hasText: 'Handout with the drills' }).getByRole('button', { name: 'Look at it here' });
  await opener.focus();
  await page.keyboard.press('Enter');
  await drawn('Handout with the drills', 1);
  assert.ok(pdfFiles().some((path) => path.includes('/assets/pdf_worker-')) && pdfFiles().includes(file('handout.pdf')));

  const first = await picture();
  assert.ok(first.dark > 0.005 && first.dark < 0.5 && first.white > 0.4, `words and drawings on white: ${JSON.stringify(first)}`);
  assert.ok(Math.abs(first.width - 2 * first.shown) <= 2, 'as many dots as the screen has');
  assert.ok(Math.abs(first.height / first.width - 297 / 210) < 0.02, 'a whole page of A4');
  assert.match(await words(), /Ansa Brinvik/);
  assert.equal(await page.evaluate(() => document.activeElement.id), 'paper-name', 'the focus is where the paper begins');

  await press('Next page');
  await drawn('Handout with the drills', 2);
  const second = await picture();
  assert.notEqual(second.sum, first.sum);
  assert.ok(second.dark > 0.005);
  await press('Larger');
  await page.waitForFunction((before) => document.querySelector('lt-paper canvas').getBoundingClientRect().width > 1.2 * before, second.shown);
  assert.match(await page.textContent('lt-paper .paper-tools'), /Page 2 of \d+[^]*125 %/);
});

test('the preview is for everybody', async () => {
  for (const colorScheme of ['dark', 'light']) {
    await page.emulateMedia({ colorScheme });
    assert.deepEqual(await axe(page), [], colorScheme);
  }
  assert.deepEqual(await smallTargets(page), []);
  await page.setViewportSize(sizes.phone);
  await page.waitForFunction(() => document.documentElement.scrollWidth <= innerWidth, undefined, { timeout: 10000 });
  assert.deepEqual(await smallTargets(page), []);
  await page.setViewportSize(sizes.tablet);
});

test('print and download stay, and closing goes back', async () => {
  const print = page.locator('lt-paper').getByRole('link', { name: 'Open for printing' });
  assert.equal(await print.getAttribute('href'), file('handout.pdf'));
  assert.equal(await print.getAttribute('target'), '_blank');
  assert.equal(await page.locator('lt-paper').getByRole('link', { name: 'Download' }).getAttribute('download'), 'handout.pdf');
  const answer = await fetch(server.url + file('handout.pdf'), { headers: { Cookie: owner.cookie } });
  assert.match(answer.headers.get('content-disposition'), /^inline/);
  await press('Close the preview');
  await page.waitForFunction(() => !document.querySelector('lt-paper'));
  assert.match(await page.evaluate(() => document.activeElement.textContent), /Look at it here/);
  // The picture of a paper opens it as well.
  await page.locator('.paper-open', { hasText: 'Letter to a colleague' }).click();
  await drawn('Letter to a colleague', 1);
  assert.match(await words(), /Ansa Brinvik/);
});

test('the handout is looked at on the plan page', async () => {
  await open(page, `/visits/${plan.document.visit}/plan`);
  await page.getByRole('button', { name: 'Look at the handout' }).click();
  await drawn('Handout with the drills', 1);
  assert.ok((await picture()).dark > 0.005);
  assert.deepEqual(await axe(page), []);
});

test('a paper that cannot be read says so', async () => {
  await page.route('**/files/record.pdf', (route) => route.fulfill({ status: 200, contentType: 'application/pdf', body: 'no paper at all' }));
  await open(page, `/visits/${plan.document.visit}/report`);
  await page.locator('.paper', { hasText: 'Record for the file' }).getByRole('button', { name: 'Look at it here' }).click();
  await page.waitForSelector('lt-paper [role="alert"]', { timeout: 30000 });
  assert.doesNotMatch(await page.textContent('lt-paper [role="alert"]'), /PDF structure|Exception|undefined/);
  await page.unroute('**/files/record.pdf');
  await page.locator('lt-paper [role="alert"]').getByRole('button').click();
  await drawn('Record for the file', 1);
});

test('it costs nothing until it is wanted, and its licence is handed on', async () => {
  const text = async (path) => (await fetch(server.url + path)).text();
  assert.doesNotMatch(await text('/service_worker.js'), /pdf_worker|paper_pdf/);
  assert.match(await text('/licenses.txt'), /pdfjs-dist 4\.10\.38 \(Apache-2\.0\)/);
  assert.deepEqual(seen.foreign, []);
  assert.deepEqual(seen.violations, []);
  assert.deepEqual(seen.errors, []);
});
