// The server says some things in whole English sentences without a code: they are found among the English words of the
// catalogue, those with {placeholders} by their pattern. What is not found stays as it is.
type Catalogue = Readonly<Record<string, string>>;
interface Pattern { key: string; names: string[]; form: RegExp; literal: number }

/** Placeholders that stand for a number, like {n1}, {n2} ...; `day` is an ISO day, any other name is for words. */
const numbers = /^(n\d?|of|limit|most|before|now|gain|change|mass|lean|weeks)$/;
const number = /^[-+]?\d+(\.\d+)?$/;
const isoDay = /^\d{4}-\d\d-\d\d$/;
const spoken = /^(server|said|drill_name|protocol_name)_/;
/** Words stay within one sentence; only an advice may be several. */
const holeFor = (name: string): string => (name === 'day' ? '(\\d{4}-\\d\\d-\\d\\d)' : numbers.test(name) ? '([-+]?\\d+(?:\\.\\d+)?)' : name === 'advice' ? '(.+)' : '((?:(?!\\. ).)+?)');

const lowerFirst = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);
const upperFirst = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
const escaped = (text: string): string => text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
/** A sentence may go on after a semicolon with a small letter. */
const eitherCase = (text: string): string => (/^[A-Z]/.test(text) ? `[${text[0]}${text[0]!.toLowerCase()}]${escaped(text.slice(1))}` : escaped(text));

let known: { exact: Map<string, string>; patterns: Pattern[] } | undefined;
function index(english: Catalogue): NonNullable<typeof known> {
  if (known) return known;
  const exact = new Map<string, string>();
  const patterns: Pattern[] = [];
  for (const key of Object.keys(english).filter((one) => spoken.test(one))) {
    const text = english[key]!;
    const parts = text.split(/\{(\w+)\}/);
    if (parts.length === 1) {
      for (const form of [text, lowerFirst(text)]) if (!exact.has(form)) exact.set(form, key);
      continue;
    }
    const form = parts.map((part, i) => (i % 2 === 1 ? holeFor(part) : i === 0 ? eitherCase(part) : escaped(part))).join('');
    patterns.push({ key, names: parts.filter((_, i) => i % 2 === 1), form: new RegExp(`^${form}$`), literal: parts.filter((_, i) => i % 2 === 0).join('').length });
  }
  // The more a pattern says itself, the sooner it is tried.
  patterns.sort((a, b) => b.literal - a.literal);
  return known = { exact, patterns };
}

export function sentenceIn(text: string, english: Catalogue, words: Catalogue, day: (iso: string) => string): string {
  const { exact, patterns } = index(english);
  const value = (part: string): string => (number.test(part) ? part.replace('.', ',') : find(part) ?? part);

  function byPattern(part: string): string | undefined {
    for (const { key, names, form } of patterns) {
      const hit = form.exec(part);
      if (hit) return words[key]!.replace(/\{(\w+)\}/g, (_, name: string) => value(hit[names.indexOf(name) + 1]!));
    }
    return undefined;
  }
  /** Several parts, of which at least one is known. */
  function together(parts: string[], between: string): string | undefined {
    const found = parts.map(find);
    return found.some((one) => one !== undefined) ? parts.map((part, i) => found[i] ?? part).join(between) : undefined;
  }
  /** "Hang: Severe pain": at the colon behind which a name ends, else at the first one. */
  function byColon(part: string): string | undefined {
    const colons = [...part.matchAll(/: /g)].map((hit) => hit.index);
    if (colons.length === 0) return undefined;
    const at = colons.find((one) => exact.has(part.slice(0, one))) ?? colons[0]!;
    return together([part.slice(0, at), part.slice(at + 2)], ': ');
  }
  function find(part: string): string | undefined {
    if (isoDay.test(part)) return day(part);
    const key = exact.get(part) ?? exact.get(lowerFirst(part));
    if (key) return lowerFirst(part) === part ? words[key] : upperFirst(words[key]!);
    const patterned = byPattern(part);
    if (patterned !== undefined) return patterned;
    const lines = part.split('\n');
    if (lines.length > 1) return together(lines, '\n');
    const sentences = part.match(/.+?[.!?](?=\s|$)|.+$/g)?.map((one) => one.trim()).filter(Boolean) ?? [];
    if (sentences.length > 1) return together(sentences, ' ');
    const items = part.split('; ');
    if (items.length > 1 && items.every((one) => find(one) !== undefined)) return together(items, '; ');
    if (part.endsWith('.')) { const inner = find(part.slice(0, -1)); return inner === undefined ? undefined : `${inner}.`; }
    return byColon(part) ?? (items.length > 1 ? together(items, '; ') : undefined);
  }
  return find(text) ?? text;
}
