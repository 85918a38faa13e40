// Somebody else wrote a record between reading and writing it: both changes are brought together, so that nobody's is lost
// and nobody has to type again. Only where both changed the same thing in different ways a person must decide.
import { api, type Answer, type Options } from './client.js';
import { Fault } from './fault.js';
import { isTree, same, type Tree } from './same.js';

const isWords = (value: unknown): value is string[] => Array.isArray(value) && value.every((one) => typeof one === 'string');
const isEntries = (value: unknown): value is Tree[] => Array.isArray(value) && value.every((one) => isTree(one) && typeof one['protocol'] === 'string');
/** These are one statement each: half of one and half of another would be nobody's. */
const whole = new Set(['trunk', 'consent']);

/** Of the test and side that an entry tells of. */
const entryName = (entry: Tree): string => `${String(entry['protocol'])} ${['left', 'right'].find((side) => side === entry['side']) ?? ''}`.trim();
const byName = (entries: Tree[]): Tree => Object.fromEntries(entries.map((entry) => [entryName(entry), entry]));

function merge(base: unknown, mine: unknown, theirs: unknown, path: string, both: string[]): unknown {
  if (same(base, mine)) return theirs;
  if (same(base, theirs) || same(mine, theirs)) return mine;
  if (isWords(mine) && isWords(theirs)) {
    const before = isWords(base) ? base : [];
    return [...theirs.filter((one) => mine.includes(one) || !before.includes(one)), ...mine.filter((one) => !before.includes(one) && !theirs.includes(one))];
  }
  if (isEntries(mine) && isEntries(theirs)) return Object.values(mergeKeys(byName(isEntries(base) ? base : []), byName(mine), byName(theirs), path, both, true));
  if (isTree(mine) && isTree(theirs) && !whole.has(path)) return mergeKeys(isTree(base) ? base : {}, mine, theirs, path, both, false);
  both.push(path);
  return mine;
}
function mergeKeys(base: Tree, mine: Tree, theirs: Tree, path: string, both: string[], entries: boolean): Tree {
  const merged: Tree = {};
  for (const key of new Set([...Object.keys(theirs), ...Object.keys(mine)])) {
    const at = path ? `${path}.${key}` : key;
    const [b, m, t] = [base[key], mine[key], theirs[key]];
    // An entry is taken as a whole.
    const value = entries && !same(b, m) && !same(b, t) && !same(m, t) ? (both.push(at), m) : merge(b, m, t, at, both);
    if (value !== undefined) merged[key] = value;
  }
  return merged;
}

/** `both`: where both changed the same in different ways; mine stands there. */
export function together<D>(base: D, mine: D, theirs: D): { document: D; both: string[] } {
  const both: string[] = [];
  const document = merge(base, mine, theirs, '', both) as D;
  return { document, both };
}

export interface Read<D> { version: number; document: D }
const tries = 4;

/** Writes `mine`, which was made of what was `read`. Throws a stale Fault only where both changed the same. */
export async function putTogether<R extends Read<unknown>>(path: string, read: Read<R['document']>, mine: R['document'], options: Options = {}): Promise<Answer<R>> {
  let [base, document, version] = [read.document, mine, read.version];
  for (let left = tries; ; left--) {
    try {
      return await api.put<R>(path, document, { ...options, version });
    } catch (error) {
      if (Fault.of(error).status !== 412 || left <= 1) throw error;
      const newest = await api.get<R>(path, options.signal ? { signal: options.signal } : {});
      const merged = together(base, document, newest.data.document);
      if (merged.both.length > 0) throw error;
      if (same(merged.document, newest.data.document)) return newest; // it had arrived already
      [base, document, version] = [newest.data.document, merged.document, newest.data.version];
    }
  }
}
