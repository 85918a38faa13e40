// A document under the hand: read and written by path ("norms[1].source"), with what is wrong with it and what was touched;
// and bringing together what two people changed.
import { same } from '../api/same.js';
import { currentLanguage, t } from '../words/index.js';
import { readNumber } from '../units.js';
import type { Draftable, FieldFault } from './library_types.js';

type Step = string | number;
const stepsOf = (path: string): Step[] => [...path.matchAll(/([^.[\]]+)|\[(\d+)\]/g)].map((hit) => (hit[2] === undefined ? hit[1]! : Number(hit[2])));

export function readPath(root: unknown, path: string): unknown {
  let value: unknown = root;
  for (const step of stepsOf(path)) {
    if (typeof value !== 'object' || value === null) return undefined;
    value = (value as Record<Step, unknown>)[step];
  }
  return value;
}
/** Undefined takes the key out; what is missing on the way is made. */
export function writePath(root: object, path: string, value: unknown): void {
  const steps = stepsOf(path);
  const last = steps.pop()!;
  let at = root as Record<Step, unknown>;
  steps.forEach((step, i) => {
    if (typeof at[step] !== 'object' || at[step] === null) at[step] = typeof (steps[i + 1] ?? last) === 'number' ? [] : {};
    at = at[step] as Record<Step, unknown>;
  });
  if (value === undefined) delete at[last];
  else at[last] = value;
}
const within = (outer: string, inner: string): boolean => inner === outer || inner.startsWith(outer + '.') || inner.startsWith(outer + '[');

/** The keys of a document that differ. */
export const differing = (a: Draftable, b: Draftable): string[] => [...new Set([...Object.keys(a), ...Object.keys(b)])].filter((key) => !same(a[key], b[key]));

/** What only they changed is taken over, mine stays; `both`: changed on both sides, mine stands in the document. */
export function bringTogether(base: Draftable, mine: Draftable, theirs: Draftable): { document: Draftable; taken: string[]; both: string[] } {
  const [changed, alsoChanged] = [differing(base, mine), differing(base, theirs)];
  const document = structuredClone(mine);
  const taken = alsoChanged.filter((key) => !changed.includes(key));
  for (const key of taken) writePath(document, key, structuredClone(theirs[key]));
  return { document, taken, both: alsoChanged.filter((key) => changed.includes(key) && !same(mine[key], theirs[key])) };
}

/** A short name for files and links made of the words of a name; one that is not taken. */
export function idFrom(name: string, dash: '_' | '-', taken: ReadonlySet<string>): string {
  const plain = name.replace(/ß/g, 'ss').normalize('NFD').replace(/[^\x20-\x7e]/g, '').toLowerCase().replace(/[^a-z0-9]+/g, dash).slice(0, 50);
  const word = plain.replace(/^[_-]+|[_-]+$/g, '');
  const stem = /^[a-z]/.test(word) ? word : word ? `own${dash}${word}` : 'own';
  let id = stem;
  for (let n = 2; taken.has(id) || id === 'new' || id === 'check'; n++) id = `${stem}${dash}${n}`;
  return id;
}

/** A table as a spreadsheet writes it where the comma is the decimal sign, in the form that the server reads. */
export function plainTable(text: string): string {
  const head = text.replace(/^\ufeff/, '').split(/\r?\n/, 1)[0]!;
  const mark = head.includes('\t') ? '\t' : head.includes(';') ? ';' : '';
  return mark === '' || text.includes('"') ? text : text.replaceAll(',', '.').replaceAll(mark, ',');
}

/** What the server often says, in the words of a form; it speaks of keys and lists. */
const plainWords: [RegExp, () => string][] = [
  [/^is empty: low/, () => t('lib_must_order')],
  [/no norms_note/, () => t('lib_must_note')],
  [/^(is missing|is empty|names nothing)$/, () => t('must_fill')],
  [/but must be a (whole )?number/, () => t('must_number')],
  [/names (neither a year|no source)/, () => t('lib_must_source')],
  [/bytes long/, () => t('lib_must_shorten')],
  [/for a test without sides/, () => t('lib_must_sides')],
  [/needs a pass_line/, () => t('lib_must_line')],
  [/true in a drill that is not loaded/, () => t('lib_must_loaded')],
  [/at least half of the gain/, () => t('lib_must_spread')],
];
export function faultWords(fault: FieldFault): string {
  const { detail, mend } = fault;
  const range = /(?:allowed are|outside of) (\S+) to (\S+)/.exec(detail);
  if (range) return t('must_between', { low: range[1]!, high: range[2]! });
  const known = plainWords.find(([pattern]) => pattern.test(detail));
  if (known) return known[1]();
  const words = mend ? `${detail}: ${mend}` : detail;
  return words.charAt(0).toUpperCase() + words.slice(1);
}

export class Draft {
  faults: FieldFault[] = [];
  /** Everything that is wrong is shown, not only what was touched: after the first try to save. */
  tried = false;
  readonly touched = new Set<string>();
  /** Numbers as they are being typed. */
  private readonly typed = new Map<string, string>();
  /** What the fields are called, with their section: noted as they are drawn. */
  readonly labels = new Map<string, string>();
  /** Of the form, in its order; filled while it is drawn. */
  readonly sections: { id: string; title: string }[] = [];
  section = '';

  constructor(public document: Draftable, private readonly changed: () => void) {}

  get<T = unknown>(path: string): T | undefined { return readPath(this.document, path) as T | undefined; }
  text(path: string): string { const value = this.get(path); return value === undefined || value === null ? '' : String(value); }
  list(path: string): unknown[] { const value = this.get(path); return Array.isArray(value) ? value : []; }
  set(path: string, value: unknown): void {
    writePath(this.document, path, value);
    this.touch(path);
  }
  touch(path: string): void {
    this.touched.add(path);
    this.changed();
  }

  /** What stands in a number's field: as typed, else with the decimal sign of the language. */
  numberText(path: string): string {
    const value = this.get(path);
    return this.typed.get(path) ?? (typeof value === 'number' ? String(value).replace('.', currentLanguage() === 'de' ? ',' : '.') : this.text(path));
  }
  /** What is no number stays as it is, so that the server says so at its field. */
  typeNumber(path: string, text: string): void {
    this.typed.set(path, text);
    const value = readNumber(text);
    this.set(path, text.trim() === '' ? undefined : Number.isNaN(value) ? text : value);
  }
  endTyping(path: string): void { if (this.typed.delete(path)) this.changed(); }

  // ---- lists
  add(path: string, value: unknown): void { this.set(path, [...this.list(path), value]); }
  remove(path: string, i: number): void {
    const rest = this.list(path).filter((_, k) => k !== i);
    this.set(path, rest);
  }
  move(path: string, i: number, by: number): void {
    const list = [...this.list(path)];
    if (i + by < 0 || i + by >= list.length) return;
    list.splice(i + by, 0, ...list.splice(i, 1));
    this.set(path, list);
  }
  /** A word in a list or not. */
  tick(path: string, word: string, on: boolean): void {
    this.set(path, on ? [...this.list(path), word] : this.list(path).filter((one) => one !== word));
  }

  // ---- faults
  note(path: string, label: string): void { this.labels.set(path, this.section && this.section !== label ? `${this.section}: ${label}` : label); }
  get shown(): FieldFault[] {
    if (this.tried) return this.faults;
    return this.faults.filter((fault) => [...this.touched].some((path) => within(path, fault.field) || within(fault.field, path)));
  }
  fault(path: string): string {
    return this.shown.filter((one) => one.field === path).map(faultWords).join(' ');
  }
  /** The nearest field or section that is drawn for a fault. */
  placeOf(field: string): string | undefined {
    for (let path = field; path; path = path.replace(/(^|[.[])[^.[]*$/, '')) if (this.labels.has(path)) return path;
    return undefined;
  }
}
