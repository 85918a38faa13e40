// The report: what goes to the athlete, to the file, to a colleague, to other programs; to look at and to take along.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { button } from '../parts/controls.js';
import { may, type Action } from '../shell/store.js';
import { quantityText } from '../parts/quantity.js';
import { day, t } from '../words/index.js';
import { cautionsView, fileOf, head, orNothing, trialName, VisitPage, type TrialRecord } from './visit_base.js';
import { icon } from './visit_icons.js';
import { trialPicture } from './visit_picture.js';
import type { PlanRecord } from './plan.js';
import type { Assessment } from './visit_types.js';

interface Paper { name: string; words: string; href: string; download?: string; picture: TemplateResult; needs?: boolean }

@customElement('page-report')
export class Report extends VisitPage {
  @state() private plan: PlanRecord | undefined;
  @state() private assessment: Assessment | undefined;

  protected override heading(): string { return t('report_title'); }
  private get newest(): TrialRecord | undefined { return this.measuredTrials.at(-1); }

  protected override async load(): Promise<void> {
    await super.load();
    const signal = this.leaving.signal;
    const newest = this.newest;
    const [plans, assessment] = await Promise.all([
      orNothing(api.get<{ items: PlanRecord[] }>(`/athletes/${this.athlete.id}/plans`, { signal })),
      newest ? orNothing(this.assessmentOf(newest.id)) : undefined,
    ]);
    this.plan = plans?.data.items.find((one) => one.document.visit === this.visitId);
    this.assessment = assessment;
  }

  protected override actions(): Action[] {
    const actions: Action[] = [];
    const newest = this.newest;
    if (newest) actions.push({ label: t('report_page'), href: fileOf(newest.id, 'athlete-page.pdf'), first: true });
    else actions.push({ label: t('visit_do_film'), href: `${this.base}/film`, first: true });
    if (!this.plan) actions.push({ label: t('visit_do_plan'), href: `${this.base}/plan` });
    actions.push({ label: t('report_done'), href: `/athletes/${this.athlete.id}` });
    return actions;
  }

  private papers(): Paper[] {
    const papers: Paper[] = [];
    const newest = this.newest;
    if (newest) papers.push({ name: t('report_page'), words: t('report_page_words'), href: fileOf(newest.id, 'athlete-page.pdf'), download: 'athlete-page.pdf', picture: this.pageOne(newest) });
    if (this.plan) {
      const plan = this.plan;
      const file = (name: string) => `/api/v1/plans/${plan.id}/files/${name}`;
      papers.push({ name: t('report_handout'), words: t('report_handout_words'), href: file('handout.pdf'), download: 'handout.pdf', picture: this.pageOfDrills(plan) });
      papers.push({ name: t('report_record'), words: t('report_record_words'), href: file('record.pdf'), download: 'record.pdf', picture: plainPage(2) });
      papers.push({ name: t('report_letter'), words: t('report_letter_words'), href: file('letter.pdf'), download: 'letter.pdf', picture: plainPage(1) });
    }
    return papers;
  }

  // A page in small: the picture of the bottom and the numbers that stand on it.
  private pageOne(trial: TrialRecord): TemplateResult {
    const trunk = this.assessment?.repetitions.map((one) => one.channels['trunk_inclination_deg']?.bottom).filter((one) => one !== undefined) ?? [];
    const mean = trunk.length > 0 ? trunk.reduce((sum, one) => sum + one.value, 0) / trunk.length : undefined;
    return html`<span class="sheet"><span class="sheet-beam"></span><span class="sheet-picture">${trialPicture(trial)}</span>
      ${mean !== undefined ? html`<span class="sheet-number">${quantityText(mean, 'deg')}</span>` : ''}<span class="sheet-lines"></span></span>`;
  }

  private pageOfDrills(plan: PlanRecord): TemplateResult {
    return html`<span class="sheet"><span class="sheet-beam"></span><span class="sheet-drills">${plan.document.plan.drills.slice(0, 4).map((drill) => html`<img alt="" src="/api/v1/drills/${drill.id}/drawing.svg">`)}</span><span class="sheet-lines"></span></span>`;
  }

  protected override view(): TemplateResult {
    const papers = this.papers();
    return html`${head(t('report_title'), html`${this.name} · ${day(this.visit.document.date)}`)}
      ${this.signs()}
      ${papers.length === 0 ? html`<p class="sign">${t('report_nothing')}</p>` : ''}
      <ul class="papers">${papers.map((paper) => html`<li class="paper"><a class="paper-open" href=${paper.href} target="_blank" rel="noopener">${paper.picture}<span class="for-ears">${t('report_open', { name: paper.name })}</span></a>
        <div class="stack gap-1"><h2>${paper.name}</h2><p class="quiet small">${paper.words}</p>
          ${button({ label: t('report_download'), icon: icon('down'), href: paper.href, ...(paper.download ? { download: paper.download } : {}) })}</div></li>`)}</ul>
      ${!this.plan ? html`<div class="row">${button({ label: t('visit_do_plan'), href: `${this.base}/plan` })}<span class="quiet">${t('report_no_plan')}</span></div>` : ''}
      ${this.out()}
      ${cautionsView(this.assessment?.cautions ?? this.plan?.document.plan.cautions)}`;
  }

  private out(): TemplateResult {
    const athlete = this.athlete.id;
    const name = this.name.toLowerCase().replace(/[^a-z0-9]+/g, '-');
    const newest = this.newest;
    const row = (label: string, words: string, href: string, download: string, sign: string) => html`<li class="out-row">${icon(sign)}<span class="grow"><strong>${label}</strong> <span class="small quiet">${words}</span></span>
      ${button({ label: t('report_download'), href, download })}</li>`;
    return html`<section class="course" aria-labelledby="out"><header><h2 id="out">${t('report_out')}</h2></header><ul class="stack gap-1">
      ${this.plan ? row(t('report_calendar'), t('report_calendar_words'), `/api/v1/athletes/${athlete}/calendar.ics`, `${name}.ics`, 'calendar') : ''}
      ${newest ? this.trials.filter((trial) => trial.document.results?.some((file) => file.name === 'curves.csv')).map((trial) => row(t('report_curves', { name: trialName(trial, this.trials.indexOf(trial) + 1) }), t('report_curves_words'), fileOf(trial.id, 'curves.csv'), 'curves.csv', 'table')) : ''}
      ${newest?.document.results?.some((file) => file.name === 'overlay.mp4') ? row(t('report_video'), t('report_video_words'), fileOf(newest.id, 'overlay.mp4'), 'squat.mp4', 'film') : ''}
      ${may('take_out') ? html`${row(t('report_fhir'), t('report_fhir_words'), `/api/v1/athletes/${athlete}/fhir?visit=${this.visitId}`, `${name}-fhir.json`, 'page')}
        ${row(t('report_export'), t('report_export_words'), `/api/v1/athletes/${athlete}/export`, `${name}.zip`, 'down')}` : ''}</ul></section>`;
  }
}

function plainPage(pages: number): TemplateResult {
  return html`<span class=${pages > 1 ? 'sheet twice' : 'sheet'}><span class="sheet-beam"></span><span class="sheet-lines many"></span></span>`;
}
