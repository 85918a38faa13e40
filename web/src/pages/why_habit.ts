// Habit against stiffness: what the body would allow today beside what was seen, each with its error, on one scale.
import { html, svg, type TemplateResult } from 'lit';
import { quantityText, rangeText } from '../parts/quantity.js';
import { t } from '../words/index.js';
import { inTen } from './why_parts.js';
import { patternDefinitions, patternFill } from './visit_patterns.js';
import { round } from './visit_geometry.js';
import type { Explanation } from './visit_types.js';


export function habitStrip(explanation: Explanation): TemplateResult | '' {
  const seen = explanation.observed_trunk_inclination_deg;
  const upright = explanation.most_upright_trunk_inclination_deg;
  const habit = explanation.parts.find((part) => part.factor === 'habit');
  if (!seen || !upright.spread_95_deg) return '';
  const width = innerWidth < 720 ? 400 : 720; // the words keep their size on a phone
  const low = Math.min(0, upright.spread_95_deg.low, seen.value - 2 * seen.standard_error);
  const high = Math.max(60, upright.spread_95_deg.high + 4, seen.value + 2 * seen.standard_error + 4);
  const x = (angle: number) => round(20 + ((angle - low) / (high - low)) * (width - 40));
  const bar = (from: number, to: number, y: number, pattern: number) => svg`<rect x=${x(from)} y=${y} width=${round(Math.max(x(to) - x(from), 4))} height="26"
    fill=${patternFill('habit', pattern)} stroke="var(--text)"/>`;
  const tick = (at: number, y: number) => svg`<path d="M${x(at)} ${y - 5}V${y + 31}" stroke="var(--text)" stroke-width="4"/>`;
  const [seenLow, seenHigh] = [seen.value - 1.96 * seen.standard_error, seen.value + 1.96 * seen.standard_error];
  const sure = inTen(habit?.probability_largest ?? 0);
  const gap = seen.value - upright.value;
  const clear = upright.spread_95_deg.high < seenLow;
  const words = gap < 1 ? t('why_habit_none') : clear ? t('why_habit_clear', { gap: quantityText(gap, 'deg') }) : t('why_habit_open', { gap: quantityText(gap, 'deg') });
  const scale = Array.from({ length: Math.floor(high / 10) + 1 }, (_, i) => i * 10);
  return html`<section class="course" aria-labelledby="habit"><header><h2 id="habit">${t('why_habit_title')}</h2></header>
    <figure class="habit"><svg viewBox="0 0 ${width} 150" role="img" aria-label=${t('why_habit_picture', {
      body: rangeText(upright.spread_95_deg.low, upright.spread_95_deg.high, 'deg'), seen: rangeText(seenLow, seenHigh, 'deg') })}>
      ${svg`${patternDefinitions('habit', 0.9)}
      ${scale.map((angle) => svg`<path d="M${x(angle)} 112v8" stroke="var(--edge)" stroke-width="2"/><text class="picture-words" text-anchor="middle" x=${x(angle)} y="140">${angle}°</text>`)}
      <path d="M20 112H${width - 20}" stroke="var(--edge)" stroke-width="2"/>
      ${bar(upright.spread_95_deg.low, upright.spread_95_deg.high, 22, 7)}${tick(upright.value, 22)}
      ${bar(seenLow, seenHigh, 70, 0)}${tick(seen.value, 70)}
      <text class="picture-words" text-anchor="end" x=${x(upright.spread_95_deg.low) - 8} y="41">${t('why_habit_body')} ${Math.round(upright.value)}°</text>
      <text class="picture-words" text-anchor="end" x=${x(seenLow) - 8} y="89">${t('why_habit_seen')} ${Math.round(seen.value)}°</text>`}</svg></figure>
    <p>${words} ${habit && sure.key === 'in_ten' ? t('why_habit_chance', { n: sure.n }) : ''}</p></section>`;
}
