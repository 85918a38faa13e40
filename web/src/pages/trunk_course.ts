// The trunk over time, one course for each setup that was filmed: a change is told within one of them only.
import type { TrendSeries, TrendSetup } from '../api/types.js';
import type { TrendLine } from '../parts/trend.js';
import { t, wordFor } from '../words/index.js';
import { setupKeys, setupLabel, shownValue, unitOfSetup, type SetupKey } from './visit_setup.js';

const newestDay = (series: TrendSeries): string => series.points[series.points.length - 1]!.date;

/** The own setup leads; without one what was filmed last otherwise, and only then what was typed in. */
export function trunkCourses(all: readonly TrendSeries[]): { lead: TrendSeries | undefined; others: TrendSeries[] } {
  const trunk = all.filter((one) => one.name === 'trunk_inclination' && one.points.length > 0);
  const rank = (one: TrendSeries) => (one.source === 'typed' ? 2 : one.setup?.own ? 0 : 1);
  const [lead, ...others] = [...trunk].sort((a, b) => rank(a) - rank(b) || newestDay(b).localeCompare(newestDay(a)));
  return { lead, others };
}

export function firstOfNewestDay(series: TrendSeries): TrendSeries['points'][number] {
  const newest = newestDay(series);
  return series.points.find((point) => point.date === newest)!;
}

/** "Heels 2.5 cm, Bar: on the front": what is not as in the own setup. */
export function differenceWords(setup: TrendSetup | null): string {
  return (setup?.differs ?? []).map(({ key, value }) => {
    const label = setupKeys.includes(key as SetupKey) ? setupLabel(key as SetupKey) : wordFor('field', key);
    if (typeof value === 'string') return `${label}: ${wordFor('course_bar', value)}`;
    return value === null ? `${label}: ${t('course_none')}` : `${label} ${shownValue(value, unitOfSetup(key as SetupKey))}`;
  }).join(', ');
}

/** In which setup, or that it was typed in: said beside every number. */
export function courseOf(series: TrendSeries): string {
  if (series.source === 'typed') return t('course_typed');
  return !series.setup || series.setup.own ? t('course_own') : t('course_other', { setup: differenceWords(series.setup) });
}

export function lineOf(series: TrendSeries): TrendLine {
  return { side: '', typed: series.source === 'typed',
    points: series.points.map((point) => ({ ...point, ...(point.method ? { note: wordFor('trunk_method', point.method) } : {}) })) };
}
