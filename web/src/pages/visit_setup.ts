// What is different about a setup: words for it, fields for it, and its way through an address.
import { html, type TemplateResult } from 'lit';
import { formatNumber, fromShown, readNumber, shownAs, toShown } from '../units.js';
import { field } from '../parts/controls.js';
import { settings } from '../shell/store.js';
import { currentLanguage, t, wordFor } from '../words/index.js';
import type { Change } from './visit_types.js';

export type SetupKey = 'stance_width_cm' | 'toe_out_deg' | 'heel_elevation_cm' | 'grip_width_cm' | 'bar_mass_kg';
export type Setup = Partial<Record<SetupKey, number>>;
export const setupKeys: readonly SetupKey[] =
  ['stance_width_cm', 'toe_out_deg', 'heel_elevation_cm', 'grip_width_cm', 'bar_mass_kg'];
const keyOfLever: Record<string, SetupKey> = {
  stance: 'stance_width_cm', toe_out: 'toe_out_deg', heel: 'heel_elevation_cm', grip: 'grip_width_cm', bar_mass: 'bar_mass_kg',
};
export const unitOfSetup = (key: SetupKey): string => key.slice(key.lastIndexOf('_') + 1);

/** Changes of the model as keys of a setup; what is no setup (ranges) falls out. */
export function setupOf(changes: readonly Change[]): Setup {
  const setup: Setup = {};
  for (const change of changes) {
    const key = keyOfLever[change.lever];
    const to = key ? change[`to_${unitOfSetup(key)}`] ?? change['to'] : undefined;
    if (key && typeof to === 'number') setup[key] = Math.round(to * 10) / 10;
  }
  return setup;
}

export function setupQuery(setup: Setup): string {
  return Object.entries(setup).map(([key, value]) => `${key}:${value}`).join(',');
}
export function readSetupQuery(text: string | null): Setup {
  const setup: Setup = {};
  for (const pair of (text ?? '').split(',')) {
    const [key, value] = pair.split(':');
    const number = Number(value);
    if (setupKeys.includes(key as SetupKey) && Number.isFinite(number)) setup[key as SetupKey] = number;
  }
  return setup;
}

export const setupLabel = (key: SetupKey): string => wordFor('visit_setup', key);

/** "heels 2.5 cm, stance 44 cm". */
export function setupWords(setup: Setup): string {
  return setupKeys.filter((key) => setup[key] !== undefined)
    .map((key) => `${setupLabel(key)} ${shownValue(setup[key]!, unitOfSetup(key))}`).join(', ');
}

export function shownValue(value: number, unit: string): string {
  const { label } = shownAs(unit, settings.value.units);
  const plain = Number(toShown(value, unit, settings.value.units).toFixed(1));
  const number = formatNumber(value, unit, settings.value.units, currentLanguage(), Number.isInteger(plain) ? 0 : 1);
  return label === '°' ? `${number}°` : `${number} ${label}`;
}

export interface NumberField {
  id: string;
  label: string;
  unit: string;
  value: number | undefined;
  placeholder?: number | undefined;
  hint?: string;
  wrong?: string;
  change: (value: number | undefined) => void;
}

/** A number in the units of this device; empty is undefined. */
export function numberField(n: NumberField): TemplateResult {
  const system = settings.value.units;
  const show = (value: number | undefined) =>
    value === undefined ? '' : String(Number(toShown(value, n.unit, system).toFixed(n.unit === 'deg' ? 0 : 1)));
  const read = (text: string) => {
    const number = readNumber(text);
    n.change(text.trim() === '' || Number.isNaN(number) ? undefined : fromShown(number, n.unit, system));
  };
  return field({
    id: n.id, label: n.label, type: 'number', unit: shownAs(n.unit, system).label, value: show(n.value),
    placeholder: show(n.placeholder), change: read,
    ...(n.hint ? { hint: n.hint } : {}), ...(n.wrong ? { fault: n.wrong } : {}),
  });
}

export function setupFields(scope: string, setup: Setup, today: Setup, change: (setup: Setup) => void): TemplateResult {
  return html`<div class="grid narrow">${setupKeys.map((key) => numberField({
    id: `${scope}-${key}`, label: setupLabel(key), unit: unitOfSetup(key), value: setup[key], placeholder: today[key],
    change: (value) => {
      const next = { ...setup };
      if (value === undefined) delete next[key];
      else next[key] = value;
      change(next);
    },
  }))}</div><p class="hint small quiet">${t('visit_setup_hint')}</p>`;
}
