// The athlete as the posture model takes it: the record's, with this visit's tests.
import { api } from '../api/client.js';
import { orNothing, type AthleteFile, type IntakeDocument, type RecordOf, type TrialRecord } from './visit_base.js';
import type { Assessment, TestOutcomeRow, TestRecord, TestsOutcome } from './visit_types.js';

export async function modelAthlete(visit: string, athlete: RecordOf<IntakeDocument>, signal: AbortSignal): Promise<AthleteFile> {
  const record = await orNothing(api.get<RecordOf<TestRecord> & { outcome?: TestsOutcome }>(`/visits/${visit}/tests`, { signal }));
  const file = { ...athlete.document.athlete };
  file.id ??= athlete.id;
  const tests: Record<string, unknown> = { ...file.tests };
  for (const row of record?.data.outcome?.results ?? []) {
    const entry = testEntry(row);
    if (entry) tests[entry.key] = entry.value;
  }
  return { ...file, tests };
}

/** A result under the key of the model's test: "knee_to_wall_left_cm". */
export function testEntry(row: TestOutcomeRow): { key: string; value: unknown } | undefined {
  const informs = row['informs'] as { test?: string | null; factor?: number; offset?: number } | null | undefined;
  const key = Object.keys(row).find((name) => name.startsWith('result_'));
  const result = key ? (row[key] as { value: number; standard_error: number } | null) : null;
  if (!informs?.test || !key || !result) return undefined;
  const side = row.side === 'both' ? '' : `_${row.side}`;
  return { key: `${informs.test}${side}_${key.slice(7)}`, value: { value: result.value, standard_error: result.standard_error } };
}

/** Trunk at the bottom of the newest measured clip. */
export async function observedTrunk(trials: readonly TrialRecord[], signal: AbortSignal): Promise<number | undefined> {
  const newest = trials.at(-1);
  if (!newest) return undefined;
  const answer = await orNothing(api.get<Assessment>(`/trials/${newest.id}/assessment`, { signal }));
  const bottoms = answer?.data.repetitions.map((one) => one.channels['trunk_inclination_deg']?.bottom.value).filter((one): one is number => one !== undefined) ?? [];
  return bottoms.length > 0 ? bottoms.reduce((sum, one) => sum + one, 0) / bottoms.length : undefined;
}
