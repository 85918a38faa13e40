// Prints how soon the figure of "what if" follows a slider: not a test, a measurement (docs/visit-screens.md has its figures).
// usage: node web/test/slider.mjs [--data FOLDER] [--runs N]      FOLDER: a demo club with measured clips; without it one is made.
import { loadavg } from 'node:os';
import { Client, launch, open, placeOf, startServer, useSession, watched } from './harness.mjs';
import { richestVisit } from './visit_screens.mjs';

const option = (name) => (process.argv.includes(name) ? process.argv[process.argv.indexOf(name) + 1] : undefined);
const runs = Number(option('--runs') ?? 3);

/** In the page: of every move of a slider when it was made, when its figure stood in the document and when it was on the screen. */
function watchSliders() {
  const page = document.querySelector('page-what-if');
  const log = { moves: [], shown: [], tasks: [] };
  globalThis.sliderLog = log;
  let event;
  page.addEventListener('input', (one) => { event = one; }, { capture: true });
  const numbers = new WeakMap();
  const put = page.asker.put.bind(page.asker);
  page.asker.put = (question) => {
    numbers.set(question, log.moves.length);
    log.moves.push(event.timeStamp);
    put(question);
  };
  const show = page.show.bind(page);
  page.show = (answer, question) => {
    show(answer, question);
    const one = { move: numbers.get(question) };
    log.shown.push(one);
    page.updateComplete.then(() => {
      one.drawn = performance.now();
      // A message that is sent when a frame begins arrives after the frame is painted.
      requestAnimationFrame(() => {
        const { port1, port2 } = new MessageChannel();
        port1.onmessage = () => { one.painted = performance.now(); };
        port2.postMessage(0);
      });
    });
  };
  page.asker.times.length = 0;
  new PerformanceObserver((list) => log.tasks.push(...list.getEntries().map((entry) => entry.duration))).observe({ type: 'longtask' });
}

/** A hand on one slider after the other: three times there and back in four seconds, 60 moves a second. */
async function drag(page) {
  for (const slider of await page.locator('.sliders input[type="range"]').all()) {
    await slider.scrollIntoViewIfNeeded();
    const box = await slider.boundingBox();
    const y = box.y + box.height / 2;
    const at = (i) => box.x + box.width * (0.5 - 0.4 * Math.cos((Math.PI * i) / 40));
    await page.mouse.move(at(0), y);
    await page.mouse.down();
    const begun = performance.now();
    const sent = [];
    for (let i = 0; i < 240; i++) {
      const wait = begun + (1000 * i) / 60 - performance.now();
      if (wait > 0) await new Promise((done) => setTimeout(done, wait));
      sent.push(page.mouse.move(at(i), y));  // the next does not wait for this one, as with a hand
    }
    await Promise.all(sent);
    await page.mouse.up();
  }
  await page.waitForTimeout(1000);
  return page.evaluate(() => ({ ...globalThis.sliderLog, asked: document.querySelector('page-what-if').asker.times }));
}

const share = (values, part) => [...values].sort((a, b) => a - b)[Math.max(0, Math.ceil(part * values.length) - 1)] ?? NaN;

function tell(run, log) {
  const pair = (values) => `${share(values, 0.5).toFixed(0)} / ${share(values, 0.95).toFixed(0)} ms`;
  const since = (one, moment) => one[moment] - log.moves[one.move];
  const every = log.moves.map((at, i) => (log.shown.find((one) => one.move >= i)?.painted ?? Infinity) - at);
  console.log(`run ${run}, load ${loadavg()[0].toFixed(1)}: ${log.moves.length} moves, ${log.shown.length} answers; median / 95 of 100: ` +
    `move to figure ${pair(log.shown.map((one) => since(one, 'drawn')))}, to the painted frame ${pair(log.shown.map((one) => since(one, 'painted')))}, ` +
    `of every move to a figure at least as new ${pair(every)}; question to answer ${pair(log.asked)}; long tasks ${log.tasks.length}`);
}

const data = option('--data');
const server = await startServer(data ? { data } : { caseload: 'club-with-clips' });
let browser;
try {
  const owner = new Client(server.url);
  await owner.signIn('runa');
  const { visit } = await richestVisit(owner, await placeOf(owner));
  browser = await launch();
  const context = await watched(browser, server.url);
  await useSession(context, owner, server.url);
  const page = await context.newPage();
  for (let run = 1; run <= runs; run++) {
    await open(page, `/visits/${visit}/what-if`);
    await page.waitForSelector('.best-row', { timeout: 60000 });
    await page.evaluate(watchSliders);
    tell(run, await drag(page));
  }
} finally {
  await browser?.close();
  await server.stop();
}
