// The athlete as the posture model takes it: the record's, with this visit's tests.
import { api } from '../api/client.js';
import { orNothing, type AthleteFile, type IntakeDocument, type RecordOf, type TrialRecord } from './visit_base.js';
import type { Assessment, Estimate, TestOutcomeRow, TestRecord, TestsOutcome } from './visit_types.js';

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
export async function observedTrunk(trials: readonly TrialRecord[], signal: AbortSignal): Promise<Estimate | undefined> {
  const newest = trials.at(-1);
  if (!newest) return undefined;
  const answer = await orNothing(api.get<Assessment>(`/trials/${newest.id}/assessment`, { signal }));
  const completed = answer?.data.repetitions.filter((one) => one.outcome === 'completed') ?? [];
  return meanOverRepetitions(completed.map((one) => one.channels['trunk_inclination_deg']?.bottom).filter((one): one is Estimate => one !== undefined));
}

/** As the server takes it: errors of scale, camera and points are common to all repetitions and do not average out; what differs from one to the next does. */
export function meanOverRepetitions(values: readonly Estimate[]): Estimate | undefined {
  const kept = values.filter((one) => Number.isFinite(one.value) && Number.isFinite(one.standard_error));
  const n = kept.length;
  if (n === 0) return undefined;
  const value = kept.reduce((sum, one) => sum + one.value, 0) / n;
  const error = kept.reduce((sum, one) => sum + one.standard_error, 0) / n;
  const variance = n > 1 ? kept.reduce((sum, one) => sum + (one.value - value) ** 2, 0) / (n - 1) : 0;
  return { value, standard_error: Math.hypot(error, Math.sqrt(variance / n)) };
}
