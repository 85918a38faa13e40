// Fields that stand on a draft: each has the path of its value as id, so that a fault finds its field.
import { html, nothing, type TemplateResult } from 'lit';
import { live } from 'lit/directives/live.js';
import { button, check, choice, field } from '../parts/controls.js';
import { icons } from '../parts/icons.js';
import { currentLanguage, t, wordFor } from '../words/index.js';
import { icon } from './visit_icons.js';
import type { Draft } from './library_draft.js';
import { noSource, signs } from './library_types.js';

/** In English nouns are small inside of a sentence. */
const inSentence = (word: string): string => (currentLanguage() === 'en' ? word.toLowerCase() : word);

export interface More { hint?: string; optional?: boolean; unit?: string; length?: number; area?: boolean }

export function textField(d: Draft, path: string, label: string, more: More = {}): TemplateResult {
  d.note(path, label);
  return field({ id: path, label, value: d.text(path), type: more.area ? 'textarea' : 'text', hint: more.hint, optional: more.optional, length: more.length ?? 600, fault: d.fault(path),
    input: (value) => d.set(path, value === '' && more.optional ? undefined : value) });
}
export function numberField(d: Draft, path: string, label: string, more: More = {}): TemplateResult {
  d.note(path, label);
  return field({ id: path, label, value: d.numberText(path), type: 'number', unit: more.unit, hint: more.hint, optional: more.optional, fault: d.fault(path),
    input: (value) => d.typeNumber(path, value), change: () => d.endTyping(path) });
}
/** Where a number comes from; with a button for those that come from nowhere. */
export function sourceField(d: Draft, path: string, hint?: string): TemplateResult {
  return html`<div class="source-field">${textField(d, path, t('source'), { hint: hint ?? undefined, length: 600 })}
    ${d.text(path).trim() === '' ? button({ label: t('lib_no_source'), kind: 'bare', act: () => { d.set(path, noSource); } }) : nothing}</div>`;
}
export function selectField(d: Draft, path: string, label: string, options: [string, string][], change = (value: string) => { d.set(path, value); }, value = d.text(path)): TemplateResult {
  d.note(path, label);
  return field({ id: path, label, type: 'select', options, value, fault: d.fault(path), change });
}
export function stones(d: Draft, path: string, label: string, options: [string, string][], hint?: string): TemplateResult {
  d.note(path, label);
  return html`<div id=${path} tabindex="-1">${choice({ id: `${path}-choice`, label, hint: hint ?? undefined, value: d.text(path), options, change: (value) => { d.set(path, value); } })}${groupFault(d, path)}</div>`;
}
export function flag(d: Draft, path: string, label: string): TemplateResult {
  d.note(path, label);
  return html`${check({ id: path, label, checked: d.get(path) === true, change: (on) => { d.set(path, on); } })}${groupFault(d, path)}`;
}
/** A part of the document that may be left out: the check mark takes it in (`fresh`) or out. */
export function optionalPart(d: Draft, path: string, label: string, fresh: () => unknown, inside: () => TemplateResult): TemplateResult {
  d.note(path, label);
  const there = d.get(path) !== undefined;
  return html`<div class="stack gap-2">${check({ id: path, label, checked: there, change: (on) => { d.set(path, on ? fresh() : undefined); } })}${groupFault(d, path)}
    ${there ? html`<div class="inset stack gap-2">${inside()}</div>` : nothing}</div>`;
}
/** The fault of a whole section or list. */
export function groupFault(d: Draft, path: string): TemplateResult | typeof nothing {
  const words = d.fault(path);
  return words ? html`<p class="fault-line" id="${path}-fault">${words}</p>` : nothing;
}

/** A section of the form: `path` is where faults of the whole of it stand. */
export function section(d: Draft, path: string, title: string, inside: () => TemplateResult, words?: string): TemplateResult {
  d.section = title;
  const id = path || `section-${d.sections.length + 1}`;
  d.sections.push({ id, title });
  if (path) d.note(path, title);
  const made = inside();
  d.section = '';
  return html`<section class="course" id=${id} tabindex="-1" aria-label=${title}><h2>${title}</h2>${words ? html`<p class="quiet measure">${words}</p>` : nothing}${path ? groupFault(d, path) : nothing}${made}</section>`;
}

/** Buttons of one entry of a list: earlier, later, out. `what` is read out with them. */
export function entryButtons(d: Draft, path: string, i: number, what: string, keep = 0): TemplateResult {
  const n = d.list(path).length;
  return html`<span class="entry-buttons">
    ${button({ label: t('lib_earlier', { what }), icon: icon('earlier'), iconOnly: true, kind: 'bare', disabled: i === 0, act: () => moveAndFollow(d, path, i, -1) })}
    ${button({ label: t('lib_later', { what }), icon: icon('later'), iconOnly: true, kind: 'bare', disabled: i === n - 1, act: () => moveAndFollow(d, path, i, 1) })}
    ${button({ label: t('lib_remove', { what }), icon: icons.close, iconOnly: true, kind: 'bare', disabled: n <= keep, act: () => removeAndStay(d, path, i) })}</span>`;
}
/** After the next drawing. */
const afterwards = (work: () => void): void => { requestAnimationFrame(() => requestAnimationFrame(work)); };
/** The focus goes with the entry: to the same button, or to its neighbour at the end of the list. */
function moveAndFollow(d: Draft, path: string, i: number, by: number): void {
  d.move(path, i, by);
  afterwards(() => {
    const buttons = document.getElementById(`${path}[${i + by}]`)?.closest('li')?.querySelectorAll<HTMLButtonElement>('.entry-buttons button');
    const [same, other] = by < 0 ? [buttons?.[0], buttons?.[1]] : [buttons?.[1], buttons?.[0]];
    (same?.disabled ? other : same)?.focus();
  });
}
function removeAndStay(d: Draft, path: string, i: number): void {
  d.remove(path, i);
  afterwards(() => { if (!document.activeElement || document.activeElement === document.body || (document.activeElement as HTMLButtonElement).disabled) document.getElementById(path)?.focus(); });
}

/** Texts one below the other: steps, cues, cautions. */
export function textList(d: Draft, path: string, label: string, one: string, more: More & { keep?: number } = {}): TemplateResult {
  d.note(path, label);
  const items = d.list(path);
  return html`<fieldset class="entries" id=${path} tabindex="-1"><legend>${label}</legend>${more.hint ? html`<p class="hint quiet small">${more.hint}</p>` : nothing}${groupFault(d, path)}
    <ol class="stack gap-1">${items.map((_, i) => {
      const at = `${path}[${i}]`;
      const name = `${one} ${i + 1}`;
      return html`<li class="entry-line">${textField(d, at, name, { area: more.area ?? false, length: more.length ?? 600 })}${entryButtons(d, path, i, name, more.keep ?? 1)}</li>`;
    })}</ol><div>${button({ label: t('lib_add', { what: inSentence(one) }), icon: icons.add, act: () => addAndGo(d, path, '') })}</div></fieldset>`;
}
/** Adds an entry and puts the focus into it. */
export function addAndGo(d: Draft, path: string, value: unknown): void {
  const i = d.list(path).length;
  d.add(path, value);
  afterwards(() => {
    const first = document.getElementById(`${path}[${i}]`);
    (first?.matches('input, textarea, select') ? first : first?.querySelector<HTMLElement>('input, textarea, select'))?.focus();
  });
}
/** Entries with several fields each: norms, targets, doses, rungs of the ladder. */
export function entries(d: Draft, path: string, label: string, one: string, fresh: () => unknown, inside: (at: string, i: number) => TemplateResult, more: { hint?: string; keep?: number } = {}): TemplateResult {
  d.note(path, label);
  const outer = d.section;
  const made = d.list(path).map((_, i) => {
    const [at, name] = [`${path}[${i}]`, `${one} ${i + 1}`];
    d.section = name;
    d.note(at, name);
    return html`<li class="entry" id=${at} tabindex="-1"><div class="entry-head"><h3>${name}</h3>${entryButtons(d, path, i, name, more.keep ?? 0)}</div>${groupFault(d, at)}${inside(at, i)}</li>`;
  });
  d.section = outer;
  return html`<fieldset class="entries" id=${path} tabindex="-1"><legend class=${outer === label ? 'for-ears' : ''}>${label}</legend>${more.hint ? html`<p class="hint quiet small">${more.hint}</p>` : nothing}${groupFault(d, path)}
    <ol class="stack gap-3">${made}</ol><div>${button({ label: t('lib_add', { what: inSentence(one) }), icon: icons.add, act: () => addAndGo(d, path, fresh()) })}</div></fieldset>`;
}

/** Words to tick; those of the document that nobody offers are ticked too. */
export function ticks(d: Draft, path: string, label: string, offered: string[], prefix: string, hint?: string): TemplateResult {
  d.note(path, label);
  const chosen = d.list(path).map(String);
  const all = [...offered, ...chosen.filter((one) => !offered.includes(one))];
  return html`<fieldset class="entries" id=${path} tabindex="-1"><legend>${label}</legend>${hint ? html`<p class="hint quiet small">${hint}</p>` : nothing}${groupFault(d, path)}
    <div class="ticks">${all.map((one) => check({ id: `${path}-${one.replace(/\W+/g, '_')}`, label: wordFor(prefix, one), checked: chosen.includes(one), change: (on) => { d.tick(path, one, on); } }))}</div></fieldset>`;
}
export const signTicks = (d: Draft): TemplateResult => ticks(d, 'not_with', t('lib_not_with'), signs, 'sign', t('lib_not_with_hint'));

/** An angle by hand and by number. `usual`: where it stands if nothing is said. */
export function angleSlider(d: Draft, path: string, label: string, [low, high]: [number, number], usual: number): TemplateResult {
  d.note(path, label);
  const value = d.get(path);
  const turned = (degrees: number) => { let x = degrees; while (x > high) x -= 360; while (x < low) x += 360; return Math.max(low, Math.min(high, x)); };
  const at = turned(typeof value === 'number' ? value : usual);
  const fault = d.fault(path);
  return html`<div class="angle ${fault ? 'field wrong' : ''}"><label for="${path}-slider">${label}</label>
    <input id="${path}-slider" type="range" min=${low} max=${high} step="1" .value=${live(String(Math.round(at)))} aria-valuetext=${t('lib_degrees', { n: Math.round(at) })}
      @input=${(event: Event) => { d.endTyping(path); d.set(path, Number((event.target as HTMLInputElement).value)); }}>
    <div class="well number"><input id=${path} type="text" inputmode="decimal" autocomplete="off" aria-label=${t('lib_in_degrees', { what: label })} .value=${d.numberText(path)} placeholder=${String(Math.round(usual)).replace('.', currentLanguage() === 'de' ? ',' : '.')}
      aria-invalid=${fault ? 'true' : nothing} aria-describedby=${fault ? `${path}-fault` : nothing}
      @input=${(event: Event) => d.typeNumber(path, (event.target as HTMLInputElement).value)} @change=${() => d.endTyping(path)}><span class="unit">°</span></div>
    ${fault ? html`<p class="fault" id="${path}-fault">${fault}</p>` : nothing}</div>`;
}
