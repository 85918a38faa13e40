// A week at a glance: drills against days, with the minutes of each day; weeks follow one another; loads below.
import { html, LitElement, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { button } from '../parts/controls.js';
import { drillName } from '../parts/library_names.js';
import { quantityText } from '../parts/quantity.js';
import { day, locale, sentence, t, today, wordFor } from '../words/index.js';
import { icon } from './visit_icons.js';
import type { Plan, Progress } from './visit_types.js';

export function weekView(plan: Plan, number: (drill: string) => number): TemplateResult {
  return html`<section class="course" aria-labelledby="week"><lt-week .plan=${plan} .number=${number}></lt-week></section>`;
}

@customElement('lt-week')
export class WeekView extends LitElement {
  @property({ attribute: false }) plan: Plan | undefined;
  @property({ attribute: false }) number: (drill: string) => number = () => 0;
  @state() private at = -1;

  protected override createRenderRoot(): HTMLElement { return this; }

  protected override willUpdate(): void {
    if (this.at >= 0 || !this.plan) return;
    const now = today();
    const index = this.plan.schedule.findIndex((week, i) => now >= week.start && now < (this.plan!.schedule[i + 1]?.start ?? '9999'));
    this.at = Math.max(index, 0);
  }

  protected override render(): TemplateResult {
    const week = this.plan?.schedule[this.at];
    if (!this.plan || !week) return html`<h2 id="week">${t('plan_week_title')}</h2><p>${t('plan_no_week')}</p>`;
    const names = new Map(this.plan.drills.map((drill) => [drill.id, drillName(drill)]));
    const used = [...names.keys()].filter((id) => week.sessions.some((session) => session.items.some((item) => item.drill === id)));
    const format = new Intl.DateTimeFormat(locale(), { weekday: 'short', day: 'numeric' });
    return html`<header class="row between"><h2 id="week">${t('plan_week_of', { n: week.week, of: this.plan.schedule.length })}</h2>
        <span class="row gap-1">${button({ label: t('plan_week_before'), icon: icon('back'), iconOnly: true, disabled: this.at === 0, act: () => { this.at -= 1; } })}
        ${button({ label: t('plan_week_after'), icon: icon('forth'), iconOnly: true, disabled: this.at >= this.plan.schedule.length - 1, act: () => { this.at += 1; } })}</span></header>
      <p class="quiet">${day(week.start)}${week.deload ? html` · <strong>${t('plan_lighter')}</strong>` : ''}</p>
      <div class="table-wrap" tabindex="0" role="region" aria-label=${t('plan_week_title')}><table class="week"><thead><tr><th scope="col"><span class="for-ears">${t('plan_drill')}</span></th>
        ${week.sessions.map((session) => html`<th scope="col">${format.format(new Date(session.date + 'T12:00'))}</th>`)}</tr></thead>
        <tbody>${used.map((id) => html`<tr><th scope="row"><span class="drill-number small-number" aria-hidden="true">${this.number(id)}</span>${names.get(id)}</th>
          ${week.sessions.map((session) => {
            const item = session.items.find((one) => one.drill === id);
            return html`<td>${item ? html`<span class="brick"><span aria-hidden="true">${item.sets}×</span><span class="for-ears">${t('plan_sets_of', { n: item.sets })}</span></span>` : ''}</td>`;
          })}</tr>`)}</tbody>
        <tfoot><tr><th scope="row">${t('plan_together')}</th>${week.sessions.map((session) => html`<td>${t('tests_minutes', { n: Math.round(session.minutes) })}</td>`)}</tr></tfoot></table></div>`;
  }
}

export function loadsView(loads: Progress['loads']): TemplateResult | '' {
  if (!loads) return '';
  return html`<section class="course" aria-labelledby="loads"><header><h2 id="loads">${t('plan_loads')}</h2></header><p class=${loads.allowed ? 'quiet' : 'fault-line'}>${sentence(loads.why)}</p>
    ${loads.allowed && loads.weeks.length > 0 ? html`<div class="table-wrap"><table class="table"><thead><tr><th scope="col">${t('plan_week')}</th><th scope="col">${t('plan_stage')}</th><th scope="col" class="num">${t('plan_at_most')}</th><th scope="col" class="num">${t('plan_sets')}</th></tr></thead>
      <tbody>${loads.weeks.map((week) => html`<tr><th scope="row">${week.plan_week ?? week.week}</th><td>${wordFor('stage', week.stage)}${week.lighter_week ? html` (${t('plan_lighter')})` : ''}</td>
        <td class="num">${week.at_most_kg === null ? '–' : quantityText(week.at_most_kg, 'kg')}</td><td class="num">${week.sets} × ${week.repetitions}</td></tr>`)}</tbody></table></div>
      ${loads.note ? html`<p class="small quiet">${sentence(loads.note)}</p>` : ''}` : ''}</section>`;
}
