// The plan: what to change first, the week, the drills with their drawings, loads, re-tests; everything can be edited.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { same } from '../api/same.js';
import { button } from '../parts/controls.js';
import { drillInWords, loadDrillWords } from '../parts/drill_words.js';
import { ask } from '../parts/dialog.js';
import { drillName } from '../parts/library_names.js';
import { icons } from '../parts/icons.js';
import { askBeforeLeaving } from '../parts/leaving.js';
import { coming, errorView } from '../parts/views.js';
import { quantity, quantityText } from '../parts/quantity.js';
import { may, say, type Action } from '../shell/store.js';
import { day, locale, plural, sentence, t, wordFor } from '../words/index.js';
import { historyOf } from './history_place.js';
import { cautionsView, head, orNothing, nice, VisitPage, type RecordOf } from './visit_base.js';
import { drillCard, type DrillEdit } from './plan_drill.js';
import { emptyRequest, planForm, type PlanRequest } from './plan_form.js';
import { loadsView, weekView } from './plan_week.js';
import './paper.js';
import { inTen } from './why_parts.js';
import type { Plan, Progress } from './visit_types.js';

interface PlanDocument { visit?: string; request?: PlanRequest; plan: Plan; edits?: DrillEdit[]; files?: { name: string }[] }
export type PlanRecord = RecordOf<PlanDocument>;

@customElement('page-plan')
export class PlanPage extends VisitPage {
  @state() private looking = false;
  @state() private plan: PlanRecord | undefined;
  @state() private progress: Progress | undefined;
  @state() private request: PlanRequest = emptyRequest;
  /** Typed here: reading anew leaves it as it is. */
  private asked = false;
  @state() private making = false;
  @state() private saving = false;
  @state() private formOpen = false;
  @state() private planFault: Fault | undefined;
  @state() private edits: Record<string, DrillEdit> = {};

  protected override heading(): string { return t('plan_title'); }

  override connectedCallback(): void {
    super.connectedCallback();
    this.until(askBeforeLeaving(() => Object.keys(this.edits).length > 0));
  }

  protected override async load(): Promise<void> {
    await super.load();
    const plans = await api.get<{ items: PlanRecord[] }>(`/athletes/${this.athlete.id}/plans`, { signal: this.leaving.signal });
    this.plan = plans.data.items.find((one) => one.document.visit === this.visitId);
    const { minutes, sessions_per_week: sessions, equipment, goal } = this.athlete.document;
    if (!this.asked) this.request = { ...emptyRequest, ...(minutes ? { minutes } : {}), ...(sessions ? { sessions } : {}), ...(equipment ? { equipment } : {}),
      ...(goal?.trunk_deg ? { goal_deg: goal.trunk_deg } : {}), ...(goal?.date ? { goal_date: goal.date } : {}), ...this.plan?.document.request };
    this.formOpen = !this.plan || this.asked;
    if (this.plan) void this.loadProgress();
    await loadDrillWords();
  }

  private async loadProgress(): Promise<void> {
    this.progress = await orNothing(api.get<Progress>(`/athletes/${this.athlete.id}/progress`, { signal: this.leaving.signal }).then((answer) => answer.data)).catch(() => undefined);
  }

  protected override actions(): Action[] {
    if (!this.plan) return may('write_records') ? [{ label: t('plan_make'), first: true, act: () => void this.make() }] : [];
    return [
      { label: t('plan_to_report'), href: `${this.base}/report`, first: true },
      { label: t('plan_handout'), href: this.file('handout.pdf') },
      { label: t('plan_today_page'), href: `/athletes/${this.athlete.id}/today` },
      { label: t('versions'), href: historyOf(this.plan.id), icon: icons.history },
    ];
  }

  private file(name: string): string { return `/api/v1/plans/${this.plan!.id}/files/${name}`; }

  private async make(): Promise<void> {
    if (this.making) return;
    if (this.plan && ((this.plan.document.edits ?? []).length > 0 || Object.keys(this.edits).length > 0)
      && !(await ask({ title: t('plan_again_title'), words: t('plan_again_words'), yes: t('plan_make') }))) return;
    this.making = true;
    this.planFault = undefined;
    try {
      this.plan = (await api.post<PlanRecord>(`/visits/${this.visitId}/plan`, clean(this.request))).data;
      this.edits = {};
      this.asked = false;
      this.formOpen = false;
      say(t('plan_made'));
      this.settle();
      void this.loadProgress();
    } catch (error) {
      this.planFault = Fault.of(error);
    } finally {
      this.making = false;
    }
  }

  private edit(drill: string, part: Partial<DrillEdit>): void {
    this.edits = { ...this.edits, [drill]: { ...this.edits[drill], drill, ...part } };
  }

  private async saveEdits(): Promise<void> {
    if (this.saving) return;
    this.saving = true;
    this.planFault = undefined;
    const sent = this.edits;
    try {
      const { data } = await api.put<PlanRecord>(`/plans/${this.plan!.id}`, { edits: Object.values(sent) }, { version: this.plan!.version });
      this.plan = data;
      // What was changed while it was on its way is not in it.
      this.edits = Object.fromEntries(Object.entries(this.edits).filter(([drill, edit]) => !same(edit, sent[drill])));
      say(t('plan_saved'));
    } catch (error) {
      this.planFault = Fault.of(error);
    } finally {
      this.saving = false;
    }
  }

  protected override view(): TemplateResult {
    return html`${head(t('plan_title'), this.plan ? this.lead(this.plan.document.plan) : t('plan_lead'))}
      ${this.signs()}
      ${this.plan ? this.clearance(this.plan.document.plan) : ''}
      ${this.referred()}
      ${may('write_records') ? this.form() : ''}
      ${this.planFault ? errorView(this.planFault, this.planFault.stale ? () => void this.reload().then(() => { this.planFault = undefined; }) : undefined) : ''}
      ${this.plan ? this.whole(this.plan.document.plan) : ''}
      ${cautionsView(this.plan?.document.plan.cautions)}`;
  }

  private lead(plan: Plan): string {
    return t('plan_span', { from: day(plan.from), to: day(plan.last_day), sessions: plan.sessions_per_week, minutes: plan.minutes_per_session });
  }

  // Warning signs come first and stop the loaded part.
  private clearance(plan: Plan): TemplateResult | '' {
    if (plan.clearance === 'full') return '';
    return html`<div class="sign" role="alert"><strong>${wordFor('plan_clearance', plan.clearance)}</strong>${plan.referral ? html`<p>${sentence(plan.referral)}</p>` : ''}</div>`;
  }

  /** What was logged since the plan was made and should be looked at: it stands above the plan. */
  private referred(): TemplateResult | '' {
    const drills = this.progress?.drills.filter((drill) => drill.decision === 'refer') ?? [];
    if (drills.length === 0) return '';
    return html`<div class="sign stop-sign" role="alert"><strong>${t('plan_referred')}</strong><ul>${drills.map((drill) => html`<li>${drillName({ id: drill.drill, name: drill.name })}: ${nice(sentence(drill.reason))}</li>`)}</ul>
      ${this.progress?.loads && !this.progress.loads.allowed ? html`<p>${nice(sentence(this.progress.loads.why))}</p>` : ''}</div>`;
  }

  private form(): TemplateResult {
    if (this.making) return coming(t('plan_making'));
    if (!this.formOpen) return html`<div class="row">${button({ label: t('plan_change'), act: () => { this.formOpen = true; } })}</div>`;
    return planForm({ request: this.request, again: this.plan !== undefined, change: (request) => { this.request = request; this.asked = true; }, make: () => void this.make(),
      close: this.plan ? () => { this.formOpen = false; } : undefined });
  }

  private whole(plan: Plan): TemplateResult {
    const changed = Object.keys(this.edits).length;
    const number = (drill: string) => plan.drills.findIndex((one) => one.id === drill) + 1;
    return html`<div class="stack gap-4">
      ${this.goals(plan)}
      ${plan.setup_changes.length > 0 ? html`<section class="course" aria-labelledby="first"><header><h2 id="first">${t('plan_first')}</h2></header>
        <ul class="stack gap-1">${plan.setup_changes.map((change) => html`<li class="row between"><span class="grow">${nice(sentence(change.text))}</span>
          <span class="nowrap">${t('plan_worth')} ${quantity({ value: change.lean_gain_deg.value, error: change.lean_gain_deg.standard_error, unit: 'deg' })}</span></li>`)}</ul></section>` : ''}
      ${weekView(plan, number)}
      <section class="course" aria-labelledby="drills"><header><h2 id="drills">${plural('plan_drills', plan.drills.length)}</h2></header>
        ${plan.drills.length === 0 ? html`<p>${t('plan_no_drills')}</p>` : ''}
        <ol class="drills">${plan.drills.map((drill, i) => drillCard({ drill: drillInWords(drill.id, drill), number: i + 1, edit: this.edits[drill.id],
          progress: this.progress?.drills.find((one) => one.drill === drill.id), may: may('write_records'), change: (part) => this.edit(drill.id, part) }))}</ol>
        ${changed > 0 ? html`<div class="save-bar" role="status"><span>${plural('plan_edits', changed)}</span>${button({ label: t('plan_save'), kind: 'first', disabled: this.saving, act: () => this.saveEdits() })}
          ${button({ label: t('plan_discard'), act: () => { this.edits = {}; } })}</div>` : ''}</section>
      ${loadsView(this.progress?.loads ?? null)}
      ${this.hold(plan)}
      ${this.retests(plan)}
      <section class="course" aria-labelledby="stop"><header><h2 id="stop">${t('plan_stop_rules')}</h2></header><ul class="stack gap-1">${plan.stop_rules.map((rule) => html`<li class="fault-line">${sentence(rule)}</li>`)}</ul></section>
      ${plan.notes.length > 0 ? html`<ul class="small quiet stack gap-1">${plan.notes.map((note) => html`<li>${nice(sentence(note))}</li>`)}</ul>` : ''}
      ${this.paper()}</div>`;
  }

  private goals(plan: Plan): TemplateResult {
    return html`<section class="course" aria-labelledby="goals"><header><h2 id="goals">${t('plan_goals')}</h2></header>
      <div class="grid">${plan.goals.map((goal, i) => {
        const key = Object.keys(goal).find((name) => name.startsWith('target_')) ?? 'target_deg';
        const unit = key.slice(7);
        const chance = inTen(goal.probability);
        return html`<div class=${i === 0 ? 'goal main' : 'goal'}><span class="small quiet">${wordFor('goal', goal.code)}</span>
          <span class="goal-numbers">${quantityText(goal[`from_${unit}`] as number, unit)} → <strong>${quantityText(goal[key] as number, unit)}</strong></span>
          <span class="small">${day(goal.date)} · ${chance.key === 'in_ten' ? t('plan_chance', { n: chance.n }) : chance.key === 'sure' ? t('plan_chance_sure') : t('plan_chance_small')}</span></div>`;
      })}</div></section>`;
  }

  private hold(plan: Plan): TemplateResult | '' {
    const ladder = plan.seated_hold?.ladder;
    if (!ladder || ladder.length === 0) return '';
    return html`<details class="numbers"><summary>${t('plan_hold')}</summary><div class="table-wrap"><table class="table"><thead><tr><th scope="col">${t('plan_week')}</th><th scope="col" class="num">${t('plan_hold_height')}</th><th scope="col" class="num">${t('plan_hold_surface')}</th><th scope="col" class="num">${t('plan_hold_feet')}</th></tr></thead>
      <tbody>${ladder.map((one) => html`<tr><th scope="row">${one.week}</th><td class="num">${quantity({ value: one.surface_height_cm, unit: 'cm' })}</td><td class="num">${quantity({ value: one.on_surface_kg, unit: 'kg' })}</td><td class="num">${quantity({ value: one.on_feet_kg, unit: 'kg' })}</td></tr>`)}</tbody></table></div></details>`;
  }

  private retests(plan: Plan): TemplateResult {
    return html`<section class="course" aria-labelledby="retests"><header><h2 id="retests">${t('plan_retests')}</h2></header>
      <ul class="retests">${plan.retests.map((one) => html`<li><time datetime=${one.date}>${new Intl.DateTimeFormat(locale(), { day: 'numeric', month: 'short' }).format(new Date(one.date + 'T12:00'))}</time>
        <div><strong>${wordFor('protocol_name', one.test, sentence(one.label))}</strong><p class="small quiet">${nice(sentence(one.reason))}</p></div></li>`)}</ul>
      <div class="row">${button({ label: t('plan_calendar'), href: this.file('retests.ics'), download: 'retests.ics' })}</div></section>`;
  }

  private paper(): TemplateResult {
    return html`<section class="course" aria-labelledby="paper"><header><h2 id="paper">${t('plan_paper')}</h2></header>
      <p class="quiet">${t('plan_paper_words')}</p>
      <div class="row">${button({ label: t('plan_open_handout'), act: () => { this.looking = true; } })}
        ${button({ label: t('plan_handout'), href: this.file('handout.pdf'), download: 'handout.pdf' })}</div>
      ${this.looking ? html`<lt-paper .href=${this.file('handout.pdf')} .name=${t('report_handout')} .close=${() => { this.looking = false; }}></lt-paper>` : ''}</section>`;
  }
}

function clean(request: PlanRequest): PlanRequest {
  const { goal_date: date, weeks, goal_deg: goal, ...rest } = request;
  return { ...rest, ...(date ? { goal_date: date } : { weeks: weeks ?? 8 }), ...(goal === undefined || Number.isNaN(goal) ? {} : { goal_deg: goal }) };
}
