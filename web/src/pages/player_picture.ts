// Who is measured, where the vertical is, how large the disc is: for when the program chose wrongly.
import { html, type TemplateResult } from 'lit';
import { button, field } from '../parts/controls.js';
import { readNumber } from '../units.js';
import { t } from '../words/index.js';
import type { Corrections } from './visit_base.js';

export interface PictureChoice { person?: number; vertical_deg?: number; disc_mm?: number }
export interface PictureFields {
  people: number;
  chosen: number;
  now: Corrections;
  roll: number;
  choose: (choice: PictureChoice) => void;
}

export function pictureFields(p: PictureFields): TemplateResult {
  const submit = (event: Event) => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const number = (name: string) => readNumber(form.querySelector<HTMLInputElement>(`#${name}`)?.value ?? '');
    const choice: PictureChoice = {};
    const [person, vertical, disc] = [number('picture-person'), number('picture-vertical'), number('picture-disc')];
    if (Number.isFinite(person)) choice.person = person;
    if (Number.isFinite(vertical)) choice.vertical_deg = vertical;
    if (Number.isFinite(disc)) choice.disc_mm = disc;
    p.choose(choice);
  };
  return html`<details class="numbers"><summary>${t('player_picture_fields')}</summary>
    <form class="stack" @submit=${submit}><div class="grid narrow">
      ${field({ id: 'picture-person', label: t('player_person'), type: 'number', value: p.now.person ?? '', optional: true,
        placeholder: String(p.chosen), hint: t('player_person_hint', { n: Math.max(p.people, 1) }) })}
      ${field({ id: 'picture-vertical', label: t('player_vertical'), type: 'number', unit: '°', value: p.now.vertical_deg ?? '', optional: true,
        placeholder: p.roll.toFixed(1), hint: t('player_vertical_hint') })}
      ${field({ id: 'picture-disc', label: t('player_disc'), type: 'number', unit: 'mm', value: p.now.disc_mm ?? '', optional: true,
        placeholder: '450', hint: t('player_disc_hint') })}</div>
      <div>${button({ label: t('player_picture_apply'), submit: true })}</div></form></details>`;
}
