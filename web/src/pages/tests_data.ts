// The tests of a visit: reading, writing, and what belongs to which protocol.
import { api } from '../api/client.js';
import { sendOrKeep, waitingAt } from '../api/queue.js';
import { together } from '../api/together.js';
import type { RecordOf } from './visit_base.js';
import type { ProtocolListed, Protocol, TestOption, TestOutcomeRow, TestRecord, TestResultEntry, TestsOutcome } from './visit_types.js';

export type TestsRecord = RecordOf<TestRecord> & { outcome?: TestsOutcome | null };
export type Side = 'left' | 'right' | '';

export const sidesOf = (protocol: { sides: string }): Side[] => (protocol.sides === 'each' ? ['left', 'right'] : ['']);

const pathOf = (visit: string): string => `/visits/${visit}/tests`;

/** The record, and over it what was entered here and still waits to be sent. */
export async function readTests(visit: string, signal: AbortSignal): Promise<TestsRecord> {
  const { data } = await api.get<TestsRecord>(pathOf(visit), { signal });
  for (const one of await waitingAt(pathOf(visit))) {
    if (one.read) data.document = together(one.read.document as TestRecord, one.body as TestRecord, data.document).document;
  }
  return data;
}

export function entryOf(record: TestsRecord, protocol: string, side: Side): TestResultEntry | undefined {
  return record.document.results.find((one) => one.protocol === protocol && sameSide(one.side, side));
}
export function outcomeOf(record: TestsRecord, protocol: string, side: Side): TestOutcomeRow | undefined {
  return record.outcome?.results.find((one) => one.protocol === protocol && sameSide(one.side, side));
}
const sameSide = (a: string | undefined, b: Side): boolean => (a === undefined || a === 'both' || a === '' ? b === '' : a === b);

export function triesOf(entry: TestResultEntry | undefined, unit: string): number[] {
  return (entry?.[`tries_${unit}`] as number[] | undefined) ?? [];
}
export function resultOf(row: TestOutcomeRow | undefined, unit: string): { value: number; standard_error: number } | undefined {
  return (row?.[`result_${unit}`] as { value: number; standard_error: number } | null | undefined) ?? undefined;
}

/** Entries put in the place of those of the same protocol and side; an entry without tries is taken out. */
export function withEntries(record: TestsRecord, entries: TestResultEntry[]): TestRecord {
  const results = record.document.results.filter((old) =>
    !entries.some((one) => one.protocol === old.protocol && sameSide(old.side, (one.side ?? '') as Side)));
  const given = entries.filter((one) => one.reached !== undefined || Object.keys(one).some((key) => /^tries_(deg|cm|s)$/.test(key)));
  return { ...record.document, results: [...results, ...given] };
}

/** Stores them, or keeps them on the device while there is no connection. What others entered meanwhile stays beside them. */
export async function writeTests(visit: string, record: TestsRecord, document: TestRecord, what: string): Promise<TestsRecord | undefined> {
  const outcome = await sendOrKeep<TestsRecord>({ method: 'PUT', path: pathOf(visit), body: document, read: { version: record.version, document: record.document }, what });
  return outcome.sent ? outcome.answer.data : undefined;
}

/** The pass line in the protocol's unit; undefined when the body size it needs is not known. */
export function passLine(protocol: Protocol, stature: number | undefined, hand: number | undefined): number | undefined {
  const line = protocol.pass_line;
  if (!line) return undefined;
  if (line.relative_to === 'hand_breadth') return hand === undefined ? undefined : line.value * hand;
  if (line.relative_to === 'stature') return stature === undefined ? undefined : line.value * stature;
  return line.value;
}

export interface TestRow { protocol: ProtocolListed; done: Side[]; option: TestOption | undefined; rank: number }

/** The protocols in the order in which they help: next best first, then what is done, then the rest. */
export function ordered(protocols: ProtocolListed[], record: TestsRecord, options: TestOption[]): TestRow[] {
  // A test with one side open is finished before another one of the same thing is offered.
  const halfDone = (one: ProtocolListed): boolean => { const done = sidesOf(one).filter((side) => entryOf(record, one.id, side)).length; return done > 0 && done < sidesOf(one).length; };
  const taken = new Set(protocols.filter(halfDone).map((one) => one.informs ?? ''));
  const doneTests = new Set(protocols.filter((one) => record.document.results.some((entry) => entry.protocol === one.id)).map((one) => one.informs));
  return protocols.map((protocol): TestRow => {
    const done = sidesOf(protocol).filter((side) => entryOf(record, protocol.id, side));
    const at = options.findIndex((option) => option.test === protocol.informs);
    const option = at >= 0 && done.length === 0 && !taken.has(protocol.informs ?? '') ? options[at] : undefined;
    if (option && protocol.informs) taken.add(protocol.informs);
    const rank = done.length > 0 && done.length < sidesOf(protocol).length ? -1 : option && !doneTests.has(protocol.informs) ? at : done.length > 0 ? 500 : 1000;
    return { protocol, done, option, rank };
  }).sort((a, b) => a.rank - b.rank);
}
