// The parts of the lean in the order and grouping in which they are shown.
import type { Explanation, LeanPart } from './visit_types.js';

export interface ShownPart {
  factor: string; // "rest" for what is put together
  label: string;
  share: number; // [deg]
  low: number;
  high: number;
  largest: number; // probability of being the largest
  pattern: number;
  members: LeanPart[];
}

const least = 0.5; // [deg] smaller parts are put together
const mostParts = 7;

/** Largest first; small and negative ones together at the end, so that the rows sum to the whole. */
export function shownParts(explanation: Explanation): ShownPart[] {
  const sorted = [...explanation.parts].sort((a, b) => Math.abs(b.share_deg) - Math.abs(a.share_deg));
  const single = sorted.filter((part) => Math.abs(part.share_deg) >= least).slice(0, mostParts);
  const rest = sorted.filter((part) => !single.includes(part));
  const shown = single.map((part, i) => ({
    factor: part.factor,
    label: part.label,
    share: part.share_deg,
    low: part.spread_95_deg?.low ?? NaN,
    high: part.spread_95_deg?.high ?? NaN,
    largest: part.probability_largest,
    pattern: i,
    members: [part],
  }));
  if (rest.length > 0) {
    shown.push({
      factor: 'rest', label: '', pattern: 7, low: NaN, high: NaN, largest: 0,
      share: rest.reduce((sum, part) => sum + part.share_deg, 0), members: rest,
    });
  }
  return shown;
}

export interface Slice { part: ShownPart; from: number; to: number }

/** From the trunk as seen upwards, one slice for each part that adds to the lean. Degrees from vertical. */
export function slices(parts: ShownPart[], observed: number): Slice[] {
  const result: Slice[] = [];
  let at = observed;
  for (const part of parts) {
    if (part.share <= 0.05) continue;
    result.push({ part, from: at, to: at - part.share });
    at -= part.share;
  }
  return result;
}

/** "7 in 10", "nearly sure": a probability as people say it. */
export function inTen(probability: number): { key: 'sure' | 'in_ten' | 'no'; n: number } {
  const n = Math.round(probability * 10);
  if (probability >= 0.95) return { key: 'sure', n: 10 };
  if (probability < 0.05) return { key: 'no', n: 0 };
  return { key: 'in_ten', n: Math.max(1, Math.min(9, n)) };
}
