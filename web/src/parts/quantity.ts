// A number never comes without its error, and opens to how it came about.
import { html, nothing, type TemplateResult } from 'lit';
import { settings } from '../shell/store.js';
import { formatNumber, formatQuantity, shownAs } from '../units.js';
import { currentLanguage, t } from '../words/index.js';

export interface QuantityLook {
  value: number | null | undefined;
  error?: number | null;
  unit: string;
  places?: number;
  size?: 'small' | 'large' | 'huge';
  /** Shows + before what is positive. */
  change?: boolean;
}
/** "34° ± 2": the value large, the standard error after it. */
export function quantity(q: QuantityLook): TemplateResult {
  if (q.value === null || q.value === undefined || !Number.isFinite(q.value)) return html`<span class="none-yet">${t('not_measured')}</span>`;
  const { units } = settings.value;
  const label = shownAs(q.unit, units).label;
  const sign = q.change && q.value > 0 ? '+' : '';
  const known = q.error !== null && q.error !== undefined && Number.isFinite(q.error);
  const digits = known && q.places === undefined && q.unit === 'deg' && q.error! < 0.95 ? 1 : q.places;
  const error = known ? html`<span class="error" title=${t('standard_error')}>± ${formatNumber(q.error!, q.unit, units, currentLanguage(), digits)}</span>` : nothing;
  return html`<span class="quantity ${q.size ?? ''}">${sign}${formatNumber(q.value, q.unit, units, currentLanguage(), digits)}${label
    ? html`<span class="unit ${label === '°' ? '' : 'apart'}">${label}</span>` : nothing}${error}</span>`;
}
/** The same as plain text, for labels and read-outs. */
export function quantityText(value: number, unit: string, error?: number | null, places?: number): string {
  const { units } = settings.value;
  const text = formatQuantity(value, unit, units, currentLanguage(), places);
  return error === null || error === undefined ? text : `${text} ± ${formatNumber(error, unit, units, currentLanguage(), places)}`;
}
/** "from 3 to 9°" of an interval. */
export function rangeText(low: number, high: number, unit: string, places?: number): string {
  const { units } = settings.value;
  return t('range', { low: formatNumber(low, unit, units, currentLanguage(), places), high: formatQuantity(high, unit, units, currentLanguage(), places) });
}
