// What a page shows when there is nothing, when it is coming, when it failed; cautions; progress.
import { html, nothing, svg, type TemplateResult } from 'lit';
import type { Fault } from '../api/fault.js';
import { sentence, t, wordFor } from '../words/index.js';
import { button } from './controls.js';

/** Waiting: a plumb line that swings until it is still. */
export function coming(words: string = t('coming')): TemplateResult {
  return html`<div class="coming" role="status"><svg viewBox="0 0 28 56" aria-hidden="true"><path d="M2 1h24" stroke="currentColor" stroke-width="3"/>
    <g class="swing"><path d="M14 2v36" stroke="var(--rust)" stroke-width="2"/><path d="M14 53l-6-10 3-4h6l3 4z" fill="var(--rust)"/></g></svg><span>${words}</span></div>`;
}

/** Nothing here yet: says what would be here, and gives the next step. */
export function emptyState(e: { title: string; words?: string; step?: TemplateResult; drawing?: TemplateResult }): TemplateResult {
  const posts = html`<svg viewBox="0 0 84 84" fill="none" aria-hidden="true">${svg`<path d="M6 18h72v12H6z" fill="var(--stone-2)"/>
    <path d="M14 30h10v46H14zM60 30h10v46H60z" fill="var(--stone-2)"/><path d="M42 30v24" stroke="var(--rust)" stroke-width="2"/>
    <path d="M42 70l-6.5-11 3.2-4h6.6l3.2 4z" fill="var(--rust)"/>`}</svg>`;
  return html`<div class="empty">${e.drawing ?? posts}<h2>${e.title}</h2>${e.words ? html`<p class="quiet">${e.words}</p>` : nothing}${e.step ?? nothing}</div>`;
}

export function faultWords(fault: Fault): { title: string; words: string } {
  if (fault.offline) return { title: t('fault_offline'), words: t('fault_offline_words') };
  if (fault.denied) return { title: t('fault_denied'), words: sentence(fault.message) || t('fault_denied_words') };
  if (fault.missing) return { title: t('fault_missing'), words: sentence(fault.message) || t('fault_missing_words') };
  if (fault.status === 412) return { title: t('fault_stale'), words: t('fault_stale_words') };
  if (fault.status < 0 || fault.status >= 500) return { title: t('fault_server'), words: t('fault_server_words') };
  return { title: t('fault_refused'), words: sentence(fault.message) };
}

/** What went wrong, where, and what to do; never a raw error. `whole`: it stands for the whole page. */
export function errorView(fault: Fault, again?: () => void, whole = false): TemplateResult {
  const { title, words } = faultWords(fault);
  const place = [fault.place.file, fault.place.field].filter(Boolean).join(', ');
  return html`<div class="sign" role="alert">${whole ? html`<h1>${title}</h1>` : html`<strong>${title}</strong>`}<p>${words}</p>
    ${place ? html`<p class="quiet small">${t('fault_at')} ${place}${fault.place.line ? `, ${t('fault_line')} ${fault.place.line}` : ''}</p>` : nothing}
    ${fault.mend ? html`<p>${sentence(fault.mend)}</p>` : nothing}
    ${fault.faults.length ? html`<ul>${fault.faults.map((one) => html`<li class="fault-line">${one.field ? html`${one.field}: ` : nothing}${sentence(one.detail)}${one.mend ? html` (${sentence(one.mend)})` : nothing}</li>`)}</ul>` : nothing}
    ${again ? html`<div>${button({ label: t('again'), act: again })}</div>` : nothing}</div>`;
}

export interface Caution { code: string; text: string }
/** The usual cautions in the app's language; on every screen with advice. An answer that has none gets the two that matter most. */
export function cautionsView(cautions: Caution[] | undefined, open = false): TemplateResult {
  const lines = cautions?.length ? cautions.map((one) => wordFor('caution', one.code, one.text)) : [t('caution_stop'), t('caution_clinician')];
  return html`<div class="cautions" role="note"><details ?open=${open}><summary>${t('cautions')}</summary>
    <ul>${lines.slice(1).map((line) => html`<li>${line}</li>`)}</ul></details><ul><li>${lines[0]}</li></ul></div>`;
}

/** Long work: what is being done, how far, and a way to stop it. */
export function progressView(p: { words: string; done: number; total: number; stop?: () => void }): TemplateResult {
  return html`<div class="progress"><div class="row between"><label for="long-work">${p.words}</label>
    ${p.stop ? button({ label: t('stop'), kind: 'bare', act: p.stop }) : nothing}</div>
    <progress id="long-work" max="1" value=${p.total > 0 ? Math.min(1, p.done / p.total) : 0}></progress></div>`;
}
