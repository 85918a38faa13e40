// How an earlier version of a record is brought back: what is sent, where to, and what of the record it is about.
import type { RecordOf } from '../api/types.js';
import type { Key } from '../words/index.js';

type Document = Record<string, unknown>;
type Version = Pick<RecordOf<Document>, 'version' | 'state' | 'document'>;

export interface Way {
  path: string;
  permission: string;
  /** What counts of a version: where two are alike in it there is nothing to bring back. */
  counts(version: Version): unknown;
  body(old: Version, newest: Version, reason: string): unknown;
  /** The reason stands in the body (the server words it), not in the address. */
  ownReason?: boolean;
  /** More about what it does, before it is done. */
  words?: Extract<Key, 'history_bring_plan' | 'history_bring_trial' | 'history_bring_word'>;
}

/** Nothing put right by hand. */
const noCorrections = { points: [], events: [], person: null, vertical_deg: null, disc_mm: null };
const corrections = (version: Version): Document => ({ ...noCorrections, ...(version.document['corrections'] as Document | undefined) });

/** A plan without the notes of who changed it. */
function planOf(version: Version): unknown {
  const { notes, ...plan } = (version.document['plan'] ?? {}) as Document;
  return plan;
}

const whole = { counts: (version: Version) => [version.document, version.state], body: (old: Version) => old.document };

export function wayBack(kind: string, record: string, parent: string | undefined): Way | undefined {
  switch (kind) {
    case 'athlete': return { path: `/athletes/${record}`, permission: 'write_records', ...whole };
    case 'visit': return { path: `/visits/${record}`, permission: 'enter_tests', ...whole };
    case 'tests': return { path: `/visits/${parent}/tests`, permission: 'enter_tests', ...whole };
    case 'overrulings': return { path: `/visits/${parent}/overrulings`, permission: 'write_records', ...whole, words: 'history_bring_word' };
    // Only what a person put right: what the measuring wrote belongs to the version that it was written for.
    case 'trial': return { path: `/trials/${record}`, permission: 'enter_tests', counts: corrections, words: 'history_bring_trial',
      body: (old, newest) => ({ ...newest.document, corrections: corrections(old) }) };
    // Its pages are made anew by the server, which refuses where a warning sign was noted since.
    case 'plan': return { path: `/plans/${record}`, permission: 'write_records', counts: planOf, words: 'history_bring_plan', ownReason: true,
      body: (old, _newest, reason) => ({ bring_back: old.version, reason }) };
    default: return undefined;
  }
}
