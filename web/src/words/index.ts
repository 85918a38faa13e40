// The message catalogue. Keys are typed: a key that is missing in a language does not compile, and a placeholder
// that gets no value does not either.
import { en } from './en.js';
import { sentenceIn } from './sentence.js';

export type Key = keyof typeof en;
/** What every other language must hold. */
export type Words = { readonly [K in Key]: string };
export type Language = 'en' | 'de';
export const languages: Record<Language, string> = { en: 'English', de: 'Deutsch' };

type Names<S extends string> = S extends `${string}{${infer Name}}${infer Rest}` ? Name | Names<Rest> : never;
type Values<K extends Key> = Names<(typeof en)[K]> extends never
  ? [] : [values: Record<Names<(typeof en)[K]>, string | number>];
/** Keys that come in two forms: `visits_one` and `visits_other` give "visits". */
type PluralStem = { [K in Key]: K extends `${infer Stem}_one` ? (`${Stem}_other` extends Key ? Stem : never) : never }[Key];

let words: Words = en;
let language: Language = 'en';

export async function useLanguage(next: Language): Promise<void> {
  words = next === 'de' ? (await import('./de.js')).de : en;
  language = next;
  document.documentElement.lang = next;
}
export const currentLanguage = (): Language => language;

function fill(text: string, values: Record<string, string | number> = {}): string {
  return text.replace(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole));
}

/** The words of a key: t('hello', {name}). */
export function t<K extends Key>(key: K, ...values: Values<K>): string {
  return fill(words[key], values[0] as Record<string, string | number> | undefined);
}
/** One or many: plural('visits', 3) takes `visits_one` or `visits_other`; {n} is the number. */
export function plural(stem: PluralStem, n: number, values: Record<string, string | number> = {}): string {
  const form = new Intl.PluralRules(language).select(n) === 'one' ? 'one' : 'other';
  return fill(words[`${stem}_${form}` as Key], { n, ...values });
}
/** Words for a value of the server ("stance_width"); where there are none `otherwise`, or the value itself made readable. */
export function wordFor(prefix: string, value: string, otherwise?: string): string {
  const key = `${prefix}_${value}`;
  if (key in words) return words[key as Key];
  if (otherwise !== undefined) return otherwise;
  const plain = value.replace(/[_-]+/g, ' ');
  return plain.charAt(0).toUpperCase() + plain.slice(1);
}

/** A whole sentence of the server in the language of the app: found among the English ones; one that is not there stays as it is. */
export const sentence = (text: string): string => (words === en ? text : sentenceIn(text, en, words, day));

/** For Intl: English as it is written in Britain (26 Nov 2026). */
export const locale = (): string => (language === 'en' ? 'en-GB' : language);

// Formatters are slow to make and the same for every day: kept for each language.
const dateFormats = new Map<string, Intl.DateTimeFormat>();
function dateFormat(name: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = `${language} ${name}`;
  let format = dateFormats.get(key);
  if (!format) dateFormats.set(key, format = new Intl.DateTimeFormat(locale(), options));
  return format;
}
/** "12 Mar 2026"; ISO day or moment in, empty in = empty out. */
export function day(iso: string | null | undefined, style: 'short' | 'long' = 'short'): string {
  if (!iso) return '';
  const date = new Date(iso.length === 10 ? iso + 'T12:00:00' : iso);
  if (Number.isNaN(date.getTime())) return iso;
  return dateFormat(style, { day: 'numeric', month: style, year: 'numeric' }).format(date);
}
export function moment(iso: string): string {
  return dateFormat('moment', { day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit' }).format(new Date(iso));
}
/** "today", "in 3 days", "2 weeks ago". */
export function daysFromNow(iso: string, now = new Date()): string {
  const then = new Date(iso.slice(0, 10) + 'T12:00:00');
  const noon = new Date(now.getFullYear(), now.getMonth(), now.getDate(), 12);
  const days = Math.round((then.getTime() - noon.getTime()) / 86400000);
  const format = new Intl.RelativeTimeFormat(language, { numeric: 'auto' });
  if (Math.abs(days) < 14) return format.format(days, 'day');
  return Math.abs(days) < 70 ? format.format(Math.round(days / 7), 'week') : format.format(Math.round(days / 30.4), 'month');
}
/** Today as an ISO day in local time. */
export function today(now = new Date()): string {
  const two = (n: number) => String(n).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
export function age(birth: string, now = new Date()): number | undefined {
  const date = new Date(birth + 'T12:00:00');
  if (Number.isNaN(date.getTime())) return undefined;
  const years = now.getFullYear() - date.getFullYear();
  const before = now.getMonth() < date.getMonth() || (now.getMonth() === date.getMonth() && now.getDate() < date.getDate());
  return years - (before ? 1 : 0);
}
