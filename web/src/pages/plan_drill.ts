// One drill of a plan: drawing, dose, how to do it, the ladder; the dose can be changed and the drill left out.
import { html, type TemplateResult } from 'lit';
import { api } from '../api/client.js';
import { button } from '../parts/controls.js';
import { drillInWords, loadDrillWords } from '../parts/drill_words.js';
import { openDialog } from '../parts/dialog.js';
import { sentence, t, wordFor } from '../words/index.js';
import { icon } from './visit_icons.js';
import type { DrillCard, PlanDrill, Progress } from './visit_types.js';

export interface DrillEdit { drill: string; sets?: number; repetitions?: number; hold_s?: number; step?: number; leave_out?: boolean }
export interface DrillCardLook {
  drill: PlanDrill;
  number: number;
  edit: DrillEdit | undefined;
  progress: Progress['drills'][number] | undefined;
  may: boolean;
  change: (part: Partial<DrillEdit>) => void;
}

/** "3 × 12, hold 1 s". */
export function doseWords(dose: { sets: number; repetitions?: number | undefined; hold_s?: number | undefined }): string {
  const many = dose.repetitions && dose.repetitions > 0;
  const main = many ? t('plan_dose', { sets: dose.sets, repetitions: dose.repetitions! }) : t('plan_dose_hold', { sets: dose.sets, hold: dose.hold_s ?? 0 });
  return many && (dose.hold_s ?? 0) > 1 ? `${main}, ${t('plan_hold_each', { hold: dose.hold_s! })}` : main;
}

function stepper(id: string, label: string, value: number, low: number, high: number, change: (value: number) => void): TemplateResult {
  return html`<div class="stepper" role="group" aria-label=${label}><span class="small quiet" id=${id}>${label}</span>
    ${button({ label: t('plan_less', { what: label }), icon: icon('less'), iconOnly: true, disabled: value <= low, act: () => change(value - 1) })}
    <output aria-labelledby=${id}>${value}</output>
    ${button({ label: t('plan_more', { what: label }), icon: icon('plus'), iconOnly: true, disabled: value >= high, act: () => change(value + 1) })}</div>`;
}

export function drillCard(c: DrillCardLook): TemplateResult {
  const { drill, edit } = c;
  const sets = edit?.sets ?? drill.dose.sets;
  const repetitions = edit?.repetitions ?? drill.dose.repetitions ?? 0;
  const out = edit?.leave_out === true;
  return html`<li class=${out ? 'drill left-out' : edit ? 'drill edited' : 'drill'}>
    <span class="drill-number" aria-hidden="true">${c.number}</span>
    <img class="drawing" loading="lazy" alt=${t('plan_drawing', { name: drill.name })} src="/api/v1/drills/${drill.id}/drawing.svg">
    <div class="drill-words"><h3>${drill.name}</h3>
      <p class="dose">${doseWords({ ...drill.dose, sets, repetitions })} · ${t('plan_times', { n: drill.dose.times_per_week })} · ${t('tests_minutes', { n: drill.dose.minutes_per_session })}</p>
      <p>${drill.step_how}</p><p class="cues">${drill.cues.map((cue) => html`<span>${cue}</span>`)}</p>
      <p class="small quiet">${sentence(drill.reason)}</p>
      ${drill.cautions.map((line) => html`<p class="fault-line">${line}</p>`)}
      ${drill.loaded ? html`<p><span class="tag">${t('plan_loaded')}</span></p>` : ''}
      ${c.progress ? html`<p class="small"><strong>${wordFor('decision', c.progress.decision)}:</strong> ${sentence(c.progress.reason)}</p>` : ''}
      <div class="row">${button({ label: t('plan_how'), act: () => showDrill(drill) })}</div>
      ${c.may ? html`<div class="row drill-edit">
        ${out ? '' : html`${stepper(`sets-${drill.id}`, t('plan_sets'), sets, 1, 10, (value) => c.change({ sets: value }))}
          ${repetitions > 0 ? stepper(`reps-${drill.id}`, t('plan_repetitions'), repetitions, 1, 50, (value) => c.change({ repetitions: value })) : ''}`}
        ${button({ label: out ? t('plan_keep') : t('plan_leave_out'), kind: 'bare', act: () => c.change({ leave_out: !out }) })}</div>` : ''}
    </div></li>`;
}

/** Steps and the ladder of a drill, from the library. */
export async function showDrill(drill: Pick<PlanDrill, 'id' | 'name' | 'step'>): Promise<void> {
  const given = await api.get<{ drill: DrillCard }>(`/drills/${drill.id}`).then((answer) => answer.data.drill).catch(() => undefined);
  if (!given) return;
  await loadDrillWords();
  const card = drillInWords(drill.id, given);
  await openDialog<void>(card.name, (close) => html`<img class="drawing" alt=${t('plan_drawing', { name: card.name })} src="/api/v1/drills/${drill.id}/drawing.svg">
    <p>${card.purpose}</p><p>${card.position}</p><ol class="steps">${card.steps.map((step) => html`<li>${step}</li>`)}</ol>
    <h3>${t('plan_ladder')}</h3><ol class="ladder">${card.ladder.map((rung, i) => html`<li class=${i + 1 === drill.step ? 'now' : ''} aria-current=${i + 1 === drill.step ? 'step' : 'false'}>
      <strong>${rung.name}</strong> ${rung.how} <span class="small quiet">${rung.move_on}</span>${rung.loaded ? html` <span class="tag">${t('plan_loaded')}</span>` : ''}</li>`)}</ol>
    <div class="row end">${button({ label: t('visit_close'), kind: 'first', act: () => close() })}</div>`);
}
