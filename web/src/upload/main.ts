// The one-time page for a phone: no account, no app, one job. It knows a first name and a day, nothing else.
import { Fault } from '../api/fault.js';
import { uploadFile } from '../api/uploads.js';
import { day, sentence, t, useLanguage } from '../words/index.js';

const secret = location.pathname.split('/')[2] ?? '';
const page = document.getElementById('page')!;

function element<K extends keyof HTMLElementTagNameMap>(tag: K, names = '', words = ''): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  made.className = names;
  made.textContent = words;
  return made;
}
function show(...parts: HTMLElement[]): void { page.replaceChildren(...parts); }

function gone(): void {
  show(element('h1', '', t('up_gone')), element('p', 'quiet', t('up_gone_words')));
}

function chooser(words: string, chosen: (file: File) => void): HTMLElement {
  const label = element('label', 'button first wide', words);
  const input = element('input', 'for-ears');
  input.type = 'file';
  input.accept = 'video/*,image/*';
  input.addEventListener('change', () => { if (input.files?.[0]) chosen(input.files[0]); });
  label.append(input);
  return label;
}

/** What the phone should show: the whole squat from the side, the phone upright. */
function drawing(): HTMLElement {
  const box = element('div', 'how');
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  svg.setAttribute('viewBox', '0 0 150 250');
  svg.setAttribute('aria-hidden', 'true');
  const line = (d: string, colour: string, width: number) => {
    const path = document.createElementNS('http://www.w3.org/2000/svg', 'path');
    for (const [key, value] of Object.entries({ d, fill: 'none', stroke: `var(--${colour})`, 'stroke-width': String(width), 'stroke-linecap': 'round', 'stroke-linejoin': 'round' })) path.setAttribute(key, value);
    svg.append(path);
  };
  line('M8 6h134v238H8zM64 236h22', 'text', 4);
  line('M22 200h106', 'edge', 2);
  line('M56 197h34M66 195l22-44-46-6', 'text', 9);
  line('M42 145l34-58', 'lapis', 11);
  line('M76 87l2-40', 'text', 7);
  line('M78 18a28 28 0 1 0 .1 0', 'text', 3);
  line('M78 47v150', 'rust', 1.6);
  box.append(svg);
  return box;
}

function begin(head: HTMLElement[], words: string): void {
  show(...head, chooser(words, (file) => void send(head, file)), drawing(), element('p', 'quiet small', t('up_tip')));
}

async function send(head: HTMLElement[], file: File): Promise<void> {
  const box = element('div', 'progress');
  const line = element('p');
  line.setAttribute('role', 'status');
  const bar = element('progress');
  bar.max = 1;
  bar.setAttribute('aria-label', t('up_title'));
  box.append(line, bar);
  show(...head, box);
  const megabytes = (bytes: number) => (bytes / 1e6).toFixed(1);
  try {
    await uploadFile(file, {
      base: `/hand-off/${secret}/uploads`,
      onProgress: ({ sent, total, waiting }) => {
        line.textContent = waiting ? t('up_waiting') : t('up_sending', { done: megabytes(sent), total: megabytes(total) });
        bar.value = total ? sent / total : 0;
      },
    });
    const done = element('div', 'sign real');
    done.setAttribute('role', 'status');
    done.append(element('strong', '', t('up_done')));
    show(...head, done, chooser(t('up_again'), (next) => void send(head, next)));
  } catch (error) {
    const fault = Fault.of(error);
    if (fault.missing || fault.denied || fault.signedOut) return gone();
    const sign = element('div', 'sign');
    sign.setAttribute('role', 'alert');
    sign.append(element('strong', '', fault.offline ? t('fault_offline') : t('fault_refused')), element('p', '', [fault.message, fault.mend].filter(Boolean).map(sentence).join(' ')));
    show(...head, sign, chooser(t('again'), (next) => void send(head, next)));
  }
}

async function start(): Promise<void> {
  await useLanguage(navigator.language.startsWith('de') ? 'de' : 'en');
  document.title = `${t('up_title')} · Lintel`;
  const answer = await fetch(`/api/v1/hand-off/${encodeURIComponent(secret)}`).catch(() => undefined);
  if (!answer) return show(element('h1', '', t('fault_offline')), element('p', 'quiet', t('fault_offline_words')));
  if (!answer.ok) return gone();
  const visit = (await answer.json()) as { athlete_first_name: string; visit_date: string };
  begin([element('h1', '', t('up_title')), element('p', 'quiet', t('up_lead', { name: visit.athlete_first_name, day: day(visit.visit_date) }))], t('up_choose'));
}
void start();
