// Under the curves: the repetitions as a table, and how the picture was taken.
import { html, type TemplateResult } from 'lit';
import { quantity } from '../parts/quantity.js';
import { t, wordFor } from '../words/index.js';
import { nice, shownNumber } from './visit_base.js';
import type { Clip } from './player_data.js';

/** Each repetition in numbers, for the measure of the curve. */
export function repetitionTable(clip: Clip, channel: string): TemplateResult {
  const key = Object.keys(clip.repetitions[0]?.channels ?? {}).find((name) => name.startsWith(channel + '_'));
  const unit = clip.curves.channels[channel]?.unit ?? 'deg';
  return html`<details class="numbers"><summary>${t('player_table', { measure: wordFor('player_channel', channel) })}</summary><div class="table-wrap"><table class="table">
    <thead><tr><th scope="col">${t('player_repetition')}</th><th scope="col" class="num">${wordFor('player_moment', 'start')}</th><th scope="col" class="num">${wordFor('player_moment', 'bottom')}</th><th scope="col" class="num">${t('player_change')}</th>
      <th scope="col" class="num">${t('player_down_up')}</th><th scope="col">${t('player_outcome')}</th></tr></thead>
    <tbody>${clip.repetitions.map((one) => {
      const values = key ? one.channels[key] : undefined;
      const cell = (value: { value: number; standard_error: number } | undefined) => html`<td class="num">${value ? quantity({ value: value.value, error: value.standard_error, unit }) : '–'}</td>`;
      return html`<tr><th scope="row">${one.number}</th>${cell(values?.start)}${cell(values?.bottom)}${cell(values?.change)}
        <td class="num">${shownNumber(one.descent_s, 's', 1)} / ${shownNumber(one.ascent_s, 's', 1)} s</td><td>${wordFor('player_outcome', one.outcome)}${one.below_parallel ? html`, ${t('player_below_parallel')}` : ''}</td></tr>`;
    })}</tbody></table></div></details>`;
}

/** What the picture itself tells: warnings, camera, scale, file. */
export function pictureFacts(clip: Clip): TemplateResult {
  const { camera, scale, warnings } = clip.assessment;
  const estimate = (value: { value: number; standard_error: number } | null | undefined, unit: string) =>
    value ? quantity({ value: value.value, error: value.standard_error, unit }) : t('visit_unknown_value');
  return html`${warnings.length > 0 ? html`<div class="sign"><strong>${t('player_warnings')}</strong><ul>${warnings.map((one) => html`<li>${nice(one.message)}${one.advice ? html` ${nice(one.advice)}` : ''}</li>`)}</ul></div>` : ''}
    <details class="numbers"><summary>${t('player_facts')}</summary><dl class="terms">
      <dt>${t('player_facing')}</dt><dd>${wordFor('player_side', camera.facing)}</dd>
      <dt>${t('player_near')}</dt><dd>${wordFor('player_side', camera.near_side)}</dd>
      <dt>${t('player_yaw')}</dt><dd>${estimate(camera.yaw_deg, 'deg')}</dd>
      <dt>${t('player_roll')}</dt><dd>${estimate(camera.roll_deg, 'deg')}</dd>
      <dt>${t('player_distance')}</dt><dd>${estimate(camera.distance_m, 'm')}</dd>
      <dt>${t('player_scale')}</dt><dd>${wordFor('player_scale', scale.source)}</dd>
      <dt>${t('player_clip')}</dt><dd>${clip.assessment.clip.file_name}, ${clip.assessment.clip.width_px} × ${clip.assessment.clip.height_px}, ${clip.assessment.clip.frame_rate_hz.toFixed(0)} /s</dd></dl></details>`;
}
