// The picture of a measured clip: the bottom of its first repetition as the program drew it.
import { html, type TemplateResult } from 'lit';
import { t } from '../words/index.js';
import { fileOf, type TrialRecord } from './visit_base.js';
import { icon } from './visit_icons.js';

/** Name of the file that shows the bottom best; empty if there is none. */
export function bottomPicture(trial: TrialRecord): string {
  const names = (trial.document.results ?? []).map((file) => file.name);
  return names.find((name) => /bottom\.(png|jpe?g)$/.test(name)) ?? '';
}

export function trialPicture(trial: TrialRecord): TemplateResult {
  const name = bottomPicture(trial);
  if (!name) return html`<span class="no-picture" aria-hidden="true">${icon('film')}</span>`;
  return html`<img loading="lazy" src=${fileOf(trial.id, name)} alt=${t('visit_picture_bottom')}>`;
}
