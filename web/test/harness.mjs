// What the browser tests share: the real server with a fresh data folder, Chromium, and a watch over every page: no request
// leaves the origin, no policy is violated, nothing is thrown.
import { spawn, spawnSync } from 'node:child_process';
import { after, before } from 'node:test';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

export const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
export const build = process.env.LINTEL_BUILD_DIR ?? join(root, 'build', 'release');
export const program = process.env.LINTEL_PROGRAM ?? join(build, 'src', 'cli', 'lintel');
const club = process.env.LINTEL_DEMO_CLUB ?? join(build, 'demo', 'lintel_demo_club');
const story = join(root, 'examples', 'skarnholm', 'club.json');
export const clips = process.env.LINTEL_CLIPS_DIR ?? join(build, 'clips');
export const browserPath = process.env.CHROMIUM ?? '/usr/bin/chromium';
/** Of everybody in the demo club: runa (owner), halvar (practitioner), liv (assistant), ingrid (reviewer), ansa (athlete). */
export const passphrase = JSON.parse(readFileSync(story, 'utf8')).passphrase;
export const sizes = { tablet: { width: 1180, height: 820 }, phone: { width: 390, height: 844 }, laptop: { width: 1440, height: 900 } };
const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

// A test that fails leaves no server behind (only those started here).
const running = new Set();
process.on('exit', () => { for (const child of running) child.kill('SIGKILL'); });

/** Fills a data folder with the Skarnholm club; with `clips` also measures its clips (a minute). */
export function enterClub(folder, withClips) {
  const { status, stderr } = spawnSync(club, ['--story', story, '--data', folder, ...(withClips ? ['--clips', clips] : [])], { encoding: 'utf8' });
  if (status !== 0) throw new Error(`lintel_demo_club ended with ${status}: ${stderr}`);
}

/**
 * Starts `lintel serve` on a free port; `stop()` ends it and removes its folder.
 * caseload: "none" = a first start, "club" = the demo club, "club-with-clips" = with its clips measured; data: a folder that is there.
 */
export async function startServer({ caseload = 'none', data: given, more = [] } = {}) {
  const data = mkdtempSync(join(tmpdir(), 'lintel-web-'));
  const records = given ?? join(data, 'records');
  if (!given && caseload !== 'none') enterClub(records, caseload === 'club-with-clips');
  const web = process.env.LINTEL_WEB_DIR ? ['--web-dir', process.env.LINTEL_WEB_DIR] : [];
  const child = spawn(program, ['serve', '--data', records, '--listen', '127.0.0.1:0', '--json', ...web, ...more], { stdio: ['ignore', 'pipe', 'pipe'] });
  running.add(child);
  let noise = '';
  child.stderr.on('data', (bytes) => { noise += bytes; });
  const url = await new Promise((done, fail) => {
    let text = '';
    child.stdout.on('data', (bytes) => {
      text += bytes;
      const line = text.split('\n').find((one) => one.startsWith('{') && one.endsWith('}'));
      if (line) done(JSON.parse(line).url);
    });
    child.on('exit', (code) => fail(new Error(`lintel serve ended with ${code}: ${noise}`)));
    child.on('error', fail);
  });
  const stop = () => new Promise((done) => {
    running.delete(child);
    child.removeAllListeners('exit');
    child.on('exit', () => { rmSync(data, { recursive: true, force: true }); done(); });
    child.kill('SIGTERM');
  });
  return { url, data, stop, noise: () => noise };
}

/** A client of the API outside of the browser, for what a test needs to be there. */
export class Client {
  constructor(url) { this.url = url; this.cookie = ''; this.token = ''; }
  async send(method, path, body, headers = {}) {
    const raw = body instanceof Uint8Array;
    const response = await fetch(`${this.url}/api/v1${path}`, {
      method,
      headers: {
        ...(body === undefined ? {} : { 'Content-Type': raw ? 'application/octet-stream' : 'application/json' }),
        ...(this.cookie ? { Cookie: this.cookie, 'X-Lintel-Token': this.token } : {}), ...headers,
      },
      body: body === undefined ? undefined : raw ? body : JSON.stringify(body),
    });
    const cookie = response.headers.getSetCookie?.().find((one) => one.startsWith('lintel_session='))
      ?? /lintel_session=[^;,]*/.exec(response.headers.get('set-cookie') ?? '')?.[0];
    if (cookie) this.cookie = cookie.split(';')[0];
    const text = await response.text();
    if (!response.ok) throw new Error(`${method} ${path}: ${response.status} ${text}`);
    return { data: text && /json/.test(response.headers.get('content-type') ?? '') ? JSON.parse(text) : text, etag: response.headers.get('etag') ?? '' };
  }
  async readToken() { this.token = (await this.send('GET', '/session')).data.csrf_token; }
  async signIn(login, words = passphrase) {
    await this.send('POST', '/session', { login, passphrase: words });
    await this.readToken();
  }
}

export function launch(more = []) {
  return chromium.launch({ executablePath: browserPath, args: ['--no-sandbox', '--disable-gpu', '--disable-dev-shm-usage', ...more] });
}

/** What went wrong on any page of a context that `watched` made. */
export const seen = { foreign: [], violations: [], errors: [] };

export async function watched(browser, url, options = {}) {
  const context = await browser.newContext({ baseURL: url, viewport: sizes.tablet, locale: 'en-GB', ...options });
  await context.addInitScript(() => {
    addEventListener('securitypolicyviolation', (event) => console.error(`policy: ${event.violatedDirective} ${event.blockedURI}`));
  });
  const expected = (address) => address.startsWith(url) || /^(data|blob|about):/.test(address);
  context.on('request', (request) => { if (!expected(request.url())) seen.foreign.push(request.url()); });
  context.on('page', (page) => {
    page.on('pageerror', (error) => seen.errors.push(`${page.url()}: ${error.message}`));
    page.on('console', (message) => {
      if (/policy:|Content Security Policy/.test(message.text())) seen.violations.push(`${page.url()}: ${message.text()}`);
    });
  });
  return context;
}

/** Puts the session of a client into a context. */
export async function useSession(context, client, url) {
  const [name, value] = client.cookie.split('=');
  await context.addCookies([{ name, value, url, httpOnly: true, sameSite: 'Strict' }]);
}

/** [ms] Longer than what a busy machine takes for the findings of a visit; nobody waits that long where all is well. */
const patience = 60000;

/** Waits until the page of the address is drawn: its heading is there and nothing is coming any more. */
export async function open(page, path) {
  await page.goto(path);
  await ready(page);
}
export async function ready(page) {
  await page.waitForFunction(() => document.querySelector('main.work')?.dataset.path === location.pathname && document.querySelector('main.work h1') && !document.querySelector('main.work .coming'), undefined, { timeout: patience });
  await page.evaluate(() => document.fonts.ready);
}

/** Waits until the app is at an address (path with query; text or pattern): it goes there without loading a document. */
export async function arrive(page, where) {
  const pattern = where instanceof RegExp ? where.source : `^${where.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')}$`;
  await page.waitForFunction((text) => new RegExp(text).test(location.pathname + location.search), pattern, { timeout: patience });
}

/** Faults that axe finds, in words. */
export async function axe(page) {
  if (!await page.evaluate(() => 'axe' in globalThis)) await page.evaluate(axeSource);
  const { violations, passes } = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ['violations'] }));
  if (passes.length < 10) throw new Error('axe looked at next to nothing');
  return violations.map((one) => `${one.id}: ${one.help}; ${one.nodes.slice(0, 3).map((node) => node.target.join(' ') + ' ' + (node.any[0]?.message ?? '')).join(' | ')}`);
}

/** What can be touched and is smaller than a fingertip: a side under 44 px, unless it stands in running text. */
export function smallTargets(page) {
  return page.evaluate(() => [...document.querySelectorAll('button, a[href], input, select, textarea, summary, [role="slider"]')].flatMap((element) => {
    const box = element.getBoundingClientRect();
    const style = getComputedStyle(element);
    const hidden = box.width === 0 || style.visibility === 'hidden' || element.closest('[hidden], .for-ears, details:not([open]) > :not(summary)') || element.classList.contains('skip') || element.classList.contains('for-ears');
    const inText = element.matches('a') && style.display === 'inline';
    // A field is touched by its frame, a hidden radio by its label.
    const target = element.closest('.well, label.check, label.button, .stones label') ?? element;
    const frame = target.getBoundingClientRect();
    return hidden || inText || frame.height >= 43.5 || element.tagName === 'SUMMARY' ? [] : [`${element.tagName} ${element.className} "${element.textContent.trim().slice(0, 30)}" ${Math.round(frame.width)}x${Math.round(frame.height)}`];
  }));
}

/** What runs out of the picture, is cut off, or lies over other words, in words: for small screens and 200 % zoom. */
export function runsOut(page) {
  return page.evaluate(() => {
    const bad = [];
    const width = document.documentElement.clientWidth;
    const name = (element) => `${element.tagName}.${String(element.className)} "${element.textContent.trim().slice(0, 30)}"`;
    if (document.documentElement.scrollWidth > width) bad.push(`the page is ${document.documentElement.scrollWidth} px wide`);
    const scrolls = (element) => {
      for (let up = element.parentElement; up; up = up.parentElement) if (/auto|scroll/.test(getComputedStyle(up).overflowX)) return true;
      return false;
    };
    const clipped = (element) => {
      for (let up = element; up; up = up.parentElement) if (getComputedStyle(up).clipPath !== 'none') return true;
      return false;
    };
    const shown = [...document.querySelectorAll('main.work *, .beam *, nav *')].filter((element) => {
      const box = element.getBoundingClientRect();
      return box.width > 2 && box.height > 2 && getComputedStyle(element).visibility !== 'hidden' && !element.closest('.for-ears, .skip, svg, [hidden], details:not([open]) > :not(summary)') && !clipped(element);
    });
    for (const element of shown) {
      const box = element.getBoundingClientRect();
      const style = getComputedStyle(element);
      if ((box.right > width + 1 || box.left < -1) && !scrolls(element)) bad.push(`out: ${name(element)}`);
      if (style.overflowX === 'hidden' && style.textOverflow !== 'ellipsis' && element.scrollWidth > element.clientWidth + 1) bad.push(`cut: ${name(element)}`);
    }
    // Words over words, line by line, apart from what floats over the page by design.
    const floats = (element) => {
      for (let up = element; up; up = up.parentElement) if (/fixed|sticky/.test(getComputedStyle(up).position)) return true;
      return false;
    };
    const lines = shown.filter((element) => element.closest('main.work') && element.children.length === 0 && element.textContent.trim() && !element.closest('.screen, option, select') && !floats(element))
      .flatMap((element) => [...element.getClientRects()].map((box) => ({ element, box })));
    for (const [i, one] of lines.entries()) {
      for (const other of lines.slice(i + 1)) {
        if (one.element === other.element) continue;
        const across = Math.min(one.box.right, other.box.right) - Math.max(one.box.left, other.box.left);
        const down = Math.min(one.box.bottom, other.box.bottom) - Math.max(one.box.top, other.box.top);
        if (across > 4 && down > 8) bad.push(`over: ${name(one.element)} and ${name(other.element)}`);
      }
    }
    return bad.slice(0, 10);
  });
}

/** Everything that a keyboard needs: presses Tab until the named thing has the focus. */
export async function tabTo(page, name, most = 60) {
  for (let i = 0; i < most; i++) {
    const found = await page.evaluate(() => {
      const element = document.activeElement;
      if (!element || element === document.body) return '';
      const label = element.labels?.[0]?.textContent ?? '';
      return (element.getAttribute('aria-label') ?? (label || element.textContent) ?? '').replace(/\s+/g, ' ').trim();
    });
    if (found === name || (name instanceof RegExp && name.test(found))) return;
    await page.keyboard.press('Tab');
  }
  throw new Error(`Tab does not reach "${name}"`);
}

/** Asks again until the answer is something; five minutes at most. */
export async function until(what, ask) {
  for (let tries = 0; tries < 1200; tries++) {
    const answer = await ask();
    if (answer) return answer;
    await new Promise((done) => setTimeout(done, 250));
  }
  throw new Error(`five minutes were not enough until ${what}`);
}

/** Sends a clip in pieces through the API and waits until it is measured; answers the trial's id. */
export async function putClip(client, visit, file, view = 'side') {
  const bytes = readFileSync(file);
  const { data: upload } = await client.send('POST', '/uploads', { name: 'squat.mp4', bytes: bytes.length });
  const size = upload.chunk_bytes || 4 << 20;
  for (let at = 0; at < bytes.length; at += size) {
    const end = Math.min(bytes.length, at + size);
    await client.send('PUT', `/uploads/${upload.id}`, new Uint8Array(bytes.subarray(at, end)), { 'Content-Range': `bytes ${at}-${end - 1}/${bytes.length}` });
  }
  const { data: trial } = await client.send('POST', `/visits/${visit}/trials`, { upload: upload.id, name: 'Competition stance', view, setup: {} });
  const ended = await until('the clip is measured', async () =>
    (await client.send('GET', '/jobs')).data.items.find((job) => job.trial === trial.id && ['done', 'failed', 'cancelled'].includes(job.state)));
  if (ended.state !== 'done') throw new Error(`the clip was not measured: ${JSON.stringify(ended)}`);
  return trial.id;
}

/** Where tests go on from in the demo club: the ids of an athlete and of her newest visit. */
export async function placeOf(client, name = 'Ansa Brinvik') {
  const { items } = (await client.send('GET', '/athletes?limit=500')).data;
  const athlete = items.find((one) => one.name === name).athlete;
  const visits = (await client.send('GET', `/athletes/${athlete}/visits`)).data.items;
  return { athlete, visit: visits[0].id, visits: visits.map((one) => one.id), others: items.map((one) => one.athlete).filter((id) => id !== athlete) };
}

/**
 * The frame of a test file on the demo club: before its first test `browser`, `server`, `owner` (a client signed in) and `place`
 * are in the answer. `context` makes a context with what is `usual` in the file, signed in as the owner (null: as nobody).
 */
export function inTheClub(usual = {}) {
  const club = {
    async context(options = {}, client = club.owner) {
      const made = await watched(club.browser, club.server.url, { ...usual, ...options });
      made.setDefaultTimeout(patience);
      if (client) await useSession(made, client, club.server.url);
      return made;
    },
    async get(path) { return (await club.owner.send('GET', path)).data; },
  };
  before(async () => {
    club.browser = await launch();
    club.server = await startServer({ caseload: 'club', more: ['--workers', '0'] });
    club.owner = new Client(club.server.url);
    await club.owner.signIn('runa');
    club.place = await placeOf(club.owner);
  });
  after(async () => {
    await club.browser?.close();
    await club.server?.stop();
  });
  return club;
}
