// Metric inside, metric or imperial on the screen. Documents keep SI-based keys (_cm, _kg, _deg) always.

export type System = 'metric' | 'imperial';
export type Unit = 'cm' | 'm' | 'mm' | 'kg' | 'deg' | 's' | 'min' | 'percent' | '%' | 'none' | '';

interface Shown { factor: number; label: string; places: number }
const metric: Record<string, Shown> = {
  cm: { factor: 1, label: 'cm', places: 1 },
  m: { factor: 1, label: 'm', places: 2 },
  mm: { factor: 1, label: 'mm', places: 0 },
  kg: { factor: 1, label: 'kg', places: 1 },
  deg: { factor: 1, label: '°', places: 0 },
  s: { factor: 1, label: 's', places: 1 },
  min: { factor: 1, label: 'min', places: 0 },
  percent: { factor: 1, label: '%', places: 0 },
  '%': { factor: 1, label: '%', places: 0 },
};
const imperial: Record<string, Shown> = {
  ...metric,
  cm: { factor: 1 / 2.54, label: 'in', places: 1 },
  m: { factor: 1 / 0.3048, label: 'ft', places: 2 },
  mm: { factor: 1 / 25.4, label: 'in', places: 2 },
  kg: { factor: 1 / 0.45359237, label: 'lb', places: 0 },
};

export const shownAs = (unit: string, system: System): Shown =>
  (system === 'imperial' ? imperial : metric)[unit] ?? { factor: 1, label: unit === 'none' ? '' : unit, places: 1 };

/** 6.5 cm -> 2.6 (inches). */
export const toShown = (value: number, unit: string, system: System): number => value * shownAs(unit, system).factor;
/** 2.6 (inches) -> 6.6 cm. */
export const fromShown = (value: number, unit: string, system: System): number => value / shownAs(unit, system).factor;

// To make a formatter takes the browser longer than all the rest of a number; a moving slider shows dozens at every step.
const formats = new Map<string, Intl.NumberFormat>();
function numberFormat(language: string, digits: number): Intl.NumberFormat {
  const key = `${language} ${digits}`;
  let format = formats.get(key);
  if (!format) formats.set(key, format = new Intl.NumberFormat(language, { minimumFractionDigits: digits, maximumFractionDigits: digits }));
  return format;
}

/** "6.5", with the places of the unit (or `places`) and the decimal sign of the language. */
export function formatNumber(value: number, unit: string, system: System, language: string, places?: number): string {
  const shown = shownAs(unit, system);
  const digits = places ?? shown.places;
  const rounded = Number((value * shown.factor).toFixed(digits)) || 0; // no minus zero
  return numberFormat(language, digits).format(rounded).replace('-', '−');
}

/** "6.5 cm", "23°". */
export function formatQuantity(value: number, unit: string, system: System, language: string, places?: number): string {
  const label = shownAs(unit, system).label;
  return formatNumber(value, unit, system, language, places) + (label === '°' || label === '' ? label : '\u202f' + label);
}

/** Reads what a person typed: comma or point, spaces around. NaN if it is no number. */
export function readNumber(text: string): number {
  const plain = text.trim().replace('−', '-').replace(',', '.');
  return /^-?\d*\.?\d+$/.test(plain) ? Number(plain) : NaN;
}
