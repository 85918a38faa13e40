// Lean and change of "what if": each with its error, and how they came about.
import { html, type TemplateResult } from 'lit';
import { button } from '../parts/controls.js';
import { openDialog } from '../parts/dialog.js';
import { quantity, quantityText } from '../parts/quantity.js';
import { t, wordFor } from '../words/index.js';
import type { ModelFigure } from './visit_model_figure.js';
import type { Cost } from './visit_types.js';

export interface Lever { lever: string; label: string; unit: string; now: number; low: number; high: number }
export interface WhatIfAnswer {
  today: ModelFigure; after: ModelFigure;
  trunk_change_deg: number; trunk_change_error_deg: number | null; today_trunk_error_deg: number | null; after_trunk_error_deg: number | null;
  distinguishable: boolean;
  error_parts: { source: 'test' | 'population' | 'lengths' | 'couplings'; limit: string | null; error_deg: number }[];
  draws: number;
  possible: boolean; costs: Cost[]; levers: Lever[]; words?: string; cautions: { code: string; text: string }[];
}
type Change = Pick<WhatIfAnswer, 'trunk_change_deg' | 'trunk_change_error_deg' | 'distinguishable'>;
const known = (error: number | null): error is number => error !== null && Number.isFinite(error);
/** Tenths where the error is smaller than a degree, as everywhere. */
const places = (error: number | null): number => (known(error) && error < 0.95 ? 1 : 0);

/** The lean after the changes. Where no posture balances at that lean (on a seat, say), the server's figure is only the nearest one: the number follows the change. */
export function leanAfter(answer: WhatIfAnswer): { value: number; nearest: boolean } {
  const expected = answer.today.trunk_deg + answer.trunk_change_deg;
  const nearest = Math.abs(expected - answer.after.trunk_deg) > 1;
  return { value: nearest ? expected : answer.after.trunk_deg, nearest };
}

/** "4.2° ± 0.8 more upright", or plainly that it is none that shows. */
export function changeText(change: Change): string {
  const { trunk_change_deg: by, trunk_change_error_deg: error } = change;
  const digits = places(error);
  const size = (value: number) => quantityText(value, 'deg', known(error) ? error : null, digits);
  if (by === 0) return t('what_if_same');
  if (!change.distinguishable && known(error)) return t('what_if_not_distinguishable', { change: `${by > 0 ? '+' : ''}${size(by)}` });
  return by < 0 ? t('what_if_more_upright', { angle: size(-by) }) : t('what_if_more_lean', { angle: size(by) });
}

/** Where today's lean comes from, in a sentence. */
export type Seen = { from: 'clip' } | { from: 'typed'; trunk: string } | { from: 'model' };
const seenText = (seen: Seen): string => (seen.from === 'clip' ? t('what_if_from_clip') : seen.from === 'typed' ? t('what_if_from_typed', { trunk: seen.trunk }) : t('what_if_from_model'));

export function explainWhatIf(answer: WhatIfAnswer, changed: boolean, seen: Seen): Promise<void> {
  const row = (name: string, value: number, error: number | null, sign = false) => html`<dt>${name}</dt><dd>${quantity({ value, error, unit: 'deg', change: sign })}</dd>`;
  const after = leanAfter(answer).value;
  const change = answer.trunk_change_error_deg;
  return openDialog<void>(changed ? t('what_if_how_title') : t('what_if_how_now'), (close) => html`<div class="stack gap-3">
    <p tabindex="-1" autofocus>${quantity({ value: after, error: answer.after_trunk_error_deg, unit: 'deg', size: 'huge' })}</p>
    ${changed ? html`<dl class="terms">${row(t('what_if_how_today'), answer.today.trunk_deg, answer.today_trunk_error_deg)}
      ${row(t('what_if_how_change'), answer.trunk_change_deg, change, true)}${row(t('what_if_how_after'), after, answer.after_trunk_error_deg)}</dl>
      <p class="strong">${known(change) ? answer.distinguishable ? t('what_if_clear') : t('what_if_unclear') : t('what_if_error_unknown')}</p>` : ''}
    <p>${seenText(seen)}</p>
    ${changed ? html`<p>${t('what_if_formula')}</p><p>${t('what_if_how_error', { n: answer.draws })}</p>
      <p>${seen.from === 'model' ? t('what_if_how_after_model') : t('what_if_how_after_error')}</p>${parts(answer)}` : ''}
    <div class="row end">${button({ label: t('visit_close'), kind: 'first', act: () => close() })}</div></div>`).then(() => undefined);
}

function parts(answer: WhatIfAnswer): TemplateResult | '' {
  if (answer.error_parts.length === 0) return '';
  return html`<h3 id="error-from">${t('what_if_error_from')}</h3><div class="table-wrap"><table class="table" aria-labelledby="error-from">
    <thead><tr><th scope="col">${t('what_if_error_source')}</th><th scope="col" class="num">${t('what_if_error_part')}</th></tr></thead>
    <tbody>${answer.error_parts.map((part) => html`<tr><th scope="row">${partName(part)}</th><td class="num">${quantity({ value: part.error_deg, unit: 'deg', places: 1 })}</td></tr>`)}</tbody></table></div>`;
}

function partName(part: WhatIfAnswer['error_parts'][number]): string {
  const range = part.limit ? wordFor('model_limit', part.limit) : '';
  const names = { test: () => t('what_if_error_test', { range }), population: () => t('what_if_error_population', { range }), lengths: () => t('what_if_error_lengths'), couplings: () => t('what_if_error_couplings') };
  return names[part.source]();
}
