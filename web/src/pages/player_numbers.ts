// How a number came about: frame, points, formula, fit, source.
import { html, type TemplateResult } from 'lit';
import { button } from '../parts/controls.js';
import { openDialog } from '../parts/dialog.js';
import { quantity } from '../parts/quantity.js';
import { t, wordFor } from '../words/index.js';
import { shownNumber } from './visit_base.js';
import type { Clip, Movable } from './player_data.js';

const pointsOfChannel: Record<string, readonly Movable[]> = {
  trunk_inclination: ['hip', 'shoulder'], thigh_inclination: ['knee', 'hip'], shank_inclination: ['ankle', 'knee'],
  foot_inclination: ['heel', 'toe'], arm_inclination: ['shoulder', 'wrist'], ankle_dorsiflexion: ['knee', 'ankle', 'heel', 'toe'],
  knee_flexion: ['hip', 'knee', 'ankle'], hip_flexion: ['shoulder', 'hip', 'knee'], shoulder_elevation: ['hip', 'shoulder', 'wrist'],
  elbow_flexion: ['shoulder', 'elbow', 'wrist'], heel_lift: ['heel'], depth: ['hip', 'knee'], hip_height: ['hip'],
};

export function explainNumber(clip: Clip, channel: string, index: number, trial: string): Promise<void> {
  const value = clip.value(channel, index);
  const curve = clip.curves.channels[channel];
  const raw = curve?.raw[index];
  const unit = curve?.unit ?? 'deg';
  return openDialog<void>(wordFor('player_channel', channel), (close) => html`
    <p>${quantity({ value: value?.value, error: value?.error ?? null, unit, size: 'huge' })}</p>
    <p>${wordFor('player_formula', channel)}</p>
    <dl class="terms"><dt>${t('player_from_frame')}</dt><dd>${t('player_frame_of', { frame: clip.frames[index] ?? 0, time: shownNumber(clip.times[index] ?? 0, 's', 2), trial })}</dd>
      <dt>${t('player_seen')}</dt><dd>${quantity({ value: raw ?? null, unit })}</dd>
      <dt>${t('player_fitted')}</dt><dd>${quantity({ value: value?.value, error: value?.error ?? null, unit })}</dd></dl>
    ${points(clip, channel, index)}
    <p class="small quiet">${t('player_number_source')}</p>
    <div class="row end">${button({ label: t('visit_close'), kind: 'first', act: () => close() })}</div>`).then(() => undefined);
}

function points(clip: Clip, channel: string, index: number): TemplateResult | '' {
  const names = pointsOfChannel[channel] ?? [];
  if (!clip.points || names.length === 0) return '';
  return html`<div class="table-wrap"><table class="table"><thead><tr><th scope="col">${t('player_point')}</th><th scope="col" class="num">x</th><th scope="col" class="num">y</th><th scope="col" class="num">${t('player_confidence')}</th></tr></thead>
    <tbody>${names.map((name) => {
      const at = clip.landmark(index, `${clip.near}_${name}`);
      const confidence = clip.confidence(index, `${clip.near}_${name}`);
      return html`<tr><th scope="row">${wordFor('player_point', name)}</th><td class="num">${at ? shownNumber(at[0], 'px', 1) : '–'} px</td><td class="num">${at ? at[1].toFixed(1) : '–'} px</td>
        <td class="num">${confidence === undefined ? '–' : `${Math.round(confidence * 100)} %`}</td></tr>`;
    })}</tbody></table></div>`;
}
