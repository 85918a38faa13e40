// The report: what goes to the athlete, to the file, to a colleague, to other programs; to look at and to take along.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { watchJob, type JobProgress } from '../api/events.js';
import { Fault } from '../api/fault.js';
import { button } from '../parts/controls.js';
import { may, say, type Action } from '../shell/store.js';
import { quantityText } from '../parts/quantity.js';
import { errorView, progressView } from '../parts/views.js';
import { day, t } from '../words/index.js';
import { cautionsView, fileOf, head, orNothing, stageWords, trialName, VisitPage, type IntakeDocument, type RecordOf, type TrialRecord } from './visit_base.js';
import { icon } from './visit_icons.js';
import { trialPicture } from './visit_picture.js';
import './paper.js';
import type { PlanRecord } from './plan.js';
import type { Assessment } from './visit_types.js';

const page = 'athlete-page.pdf';
const filed = (trial: TrialRecord, name: string): boolean => trial.document.results?.some((file) => file.name === name) ?? false;
const atWork = (trial: TrialRecord): boolean => ['waiting', 'running'].includes(trial.job?.state ?? '');

interface Paper { name: string; words: string; href: string; download?: string; picture: TemplateResult; needs?: boolean }

@customElement('page-report')
export class Report extends VisitPage {
  @state() private plan: PlanRecord | undefined;
  @state() private assessment: Assessment | undefined;
  @state() private shown: Paper | undefined;
  /** Clips whose page was drawn before what it would be drawn with now. */
  @state() private older: TrialRecord[] = [];
  private olderThan: 'tests' | 'body' = 'tests';
  @state() private making: { trial: TrialRecord; progress?: JobProgress } | undefined;
  @state() private makeFault: Fault | undefined;
  private stopWatching: () => void = () => undefined;

  protected override heading(): string { return t('report_title'); }
  // One that is measured again just now still has its files.
  private get newest(): TrialRecord | undefined { return this.trials.filter((trial) => filed(trial, page)).at(-1) ?? this.measuredTrials.at(-1); }
  private nameOf(trial: TrialRecord): string { return trialName(trial, this.trials.findIndex((one) => one.id === trial.id) + 1); }

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
    await this.findOlder();
    const busy = this.trials.find((trial) => filed(trial, page) && atWork(trial));
    if (busy && !this.making) void this.make([busy]);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.stopWatching();
  }

  // ---- a page that is older than what is known

  private async findOlder(): Promise<void> {
    const made = this.trials.filter((trial) => filed(trial, page) && trial.document.measured?.at);
    const than = (moment: string | undefined) => made.filter((trial) => moment !== undefined && trial.document.measured!.at < moment);
    const tests = await orNothing(api.get<RecordOf<unknown>>(`/visits/${this.visitId}/tests`, { signal: this.leaving.signal }));
    this.older = than(tests?.data.changed_at);
    this.olderThan = 'tests';
    if (this.older.length > 0 || than(this.athlete.changed_at).length === 0 || !may('read_records')) return;
    this.older = than(await this.bodyChange());
    this.olderThan = 'body';
  }

  /** When the body last changed, if this is the newest visit: what is measured later belongs to a later one. */
  private async bodyChange(): Promise<string | undefined> {
    const { signal } = this.leaving;
    const [visits, versions] = await Promise.all([
      api.all<RecordOf<{ date: string }>>(`/athletes/${this.athlete.id}/visits`, { signal }),
      api.get<{ items: RecordOf<IntakeDocument>[] }>(`/records/${this.athlete.id}/versions`, { signal }),
    ]);
    if (visits.some((one) => one.document.date > this.visit.document.date)) return undefined;
    const body = (one: RecordOf<IntakeDocument> | undefined) => JSON.stringify([one?.document?.athlete.body, one?.document?.athlete.sex, one?.document?.athlete.setup]);
    const items = [...versions.data.items].sort((a, b) => b.version - a.version);
    return items.find((one, i) => body(one) !== body(items[i + 1]))?.changed_at;
  }

  /** Each is measured again from its kept points, with the tests and the body of now. */
  private async make(trials: TrialRecord[]): Promise<void> {
    this.makeFault = undefined;
    this.shown = undefined;
    try {
      for (const trial of trials) {
        this.making = { trial };
        this.settle();
        const job = atWork(trial) ? trial.job : await this.ask(trial.id);
        if (job) await this.follow(trial, job.id);
      }
      this.making = undefined;
      await this.reload();
      say(t('page_made'));
    } catch (error) {
      if (!(error instanceof DOMException && error.name === 'AbortError')) this.makeFault = Fault.of(error);
    } finally {
      this.making = undefined;
      if (this.isConnected) this.settle();
    }
  }

  // The trial unchanged: the server measures again because there is something new to measure with.
  private async ask(id: string, again = false): Promise<TrialRecord['job']> {
    const { signal } = this.leaving;
    const { data } = await api.get<TrialRecord>(`/trials/${id}`, { signal });
    try {
      const answer = await api.put<TrialRecord>(`/trials/${id}`, data.document, { version: data.version, signal, query: { reason: t('page_again_reason') } });
      return atWork(answer.data) ? answer.data.job : undefined;
    } catch (error) {
      if (!again && Fault.of(error).stale) return this.ask(id, true);
      throw error;
    }
  }

  private follow(trial: TrialRecord, job: string): Promise<void> {
    return new Promise((done, fail) => {
      this.stopWatching = watchJob(job, {
        progress: (progress) => { this.making = { trial, progress }; },
        done: () => done(),
        failed: fail,
      });
    });
  }

  private olderView(): TemplateResult | '' {
    const { making } = this;
    if (making) {
      const stage = making.progress?.stage ? stageWords(making.progress.stage) : t('visit_waits');
      return html`<div class="sign" role="status" id="older">${progressView({ words: `${t('page_making', { name: this.nameOf(making.trial) })}: ${stage}`, done: making.progress?.done ?? 0, total: making.progress?.total ?? 0 })}</div>`;
    }
    if (this.makeFault) return errorView(this.makeFault, may('enter_tests') ? () => void this.make(this.older) : undefined);
    if (this.older.length === 0) return '';
    return html`<div class="sign" role="status" id="older"><strong>${t(this.olderThan === 'tests' ? 'page_older_tests' : 'page_older_body')}</strong>
      <p>${t('page_older_words', { names: this.older.map((trial) => this.nameOf(trial)).join(', ') })}</p>
      ${may('enter_tests') ? html`<div>${button({ label: t('page_again'), kind: 'first', act: () => void this.make(this.older) })}</div>` : ''}</div>`;
  }

  protected override actions(): Action[] {
    const actions: Action[] = [];
    const newest = this.newest;
    const again = this.older.length > 0 && may('enter_tests');
    if (again) actions.push({ label: t('page_again'), act: () => void this.make(this.older), first: true, disabled: this.making !== undefined });
    if (newest) actions.push({ label: t('report_page'), href: fileOf(newest.id, page), first: !again });
    else actions.push({ label: t('visit_do_film'), href: `${this.base}/film`, first: true });
    if (!this.plan) actions.push({ label: t('visit_do_plan'), href: `${this.base}/plan` });
    actions.push({ label: t('report_done'), href: `/athletes/${this.athlete.id}` });
    return actions;
  }

  private papers(): Paper[] {
    const papers: Paper[] = [];
    const newest = this.newest;
    if (newest) papers.push({ name: t('report_page'), words: t('report_page_words'), href: fileOf(newest.id, page), download: page, picture: this.pageOne(newest) });
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

  // A plain press looks at the paper here; with a key held it opens by itself, as any link does.
  private look(event: MouseEvent, paper: Paper): void {
    if (event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
    event.preventDefault();
    this.shown = paper;
  }

  protected override view(): TemplateResult {
    const papers = this.papers();
    return html`${head(t('report_title'), html`${this.name} · ${day(this.visit.document.date)}`)}
      ${this.signs()}${this.olderView()}
      ${papers.length === 0 ? html`<p class="sign">${t('report_nothing')}</p>` : ''}
      <ul class="papers">${papers.map((paper) => html`<li class="paper"><a class="paper-open" href=${paper.href} target="_blank" rel="noopener" @click=${(event: MouseEvent) => this.look(event, paper)}>${paper.picture}<span class="for-ears">${t('report_open', { name: paper.name })}</span></a>
        <div class="stack gap-1"><h2>${paper.name}</h2><p class="quiet small">${paper.words}</p>
          ${button({ label: t('paper_look'), icon: icon('page'), act: () => { this.shown = paper; } })}
          ${button({ label: t('report_download'), icon: icon('down'), href: paper.href, ...(paper.download ? { download: paper.download } : {}) })}</div></li>`)}</ul>
      ${this.shown ? html`<lt-paper .href=${this.shown.href} .name=${this.shown.name} .download=${this.shown.download ?? ''} .close=${() => { this.shown = undefined; }}></lt-paper>` : ''}
      ${!this.plan ? html`<div class="row">${button({ label: t('visit_do_plan'), href: `${this.base}/plan` })}<span class="quiet">${t('report_no_plan')}</span></div>` : ''}
      ${this.out()}
      ${cautionsView(this.assessment?.cautions ?? this.plan?.document.plan.cautions)}`;
  }

  private out(): TemplateResult {
    const athlete = this.athlete.id;
    const name = this.name.toLowerCase().replace(/[^a-z0-9]+/g, '-');
    const row = (label: string, words: string, href: string, download: string, sign: string) => html`<li class="out-row">${icon(sign)}<span class="grow"><strong>${label}</strong> <span class="small quiet">${words}</span></span>
      ${button({ label: t('report_download'), href, download })}</li>`;
    return html`<section class="course" aria-labelledby="out"><header><h2 id="out">${t('report_out')}</h2></header><ul class="stack gap-1">
      ${this.plan ? row(t('report_calendar'), t('report_calendar_words'), `/api/v1/athletes/${athlete}/calendar.ics`, `${name}.ics`, 'calendar') : ''}
      ${this.trials.filter((trial) => filed(trial, 'curves.csv')).map((trial) => row(t('report_curves', { name: this.nameOf(trial) }), t('report_curves_words'), fileOf(trial.id, 'curves.csv'), 'curves.csv', 'table'))}
      ${this.trials.filter((trial) => filed(trial, 'overlay.mp4')).map((trial) => row(t('report_video', { name: this.nameOf(trial) }), t('report_video_words'), fileOf(trial.id, 'overlay.mp4'), 'squat.mp4', 'film'))}
      ${may('take_out') ? html`${row(t('report_fhir'), t('report_fhir_words'), `/api/v1/athletes/${athlete}/fhir?visit=${this.visitId}`, `${name}-fhir.json`, 'page')}
        ${row(t('report_export'), t('report_export_words'), `/api/v1/athletes/${athlete}/export`, `${name}.zip`, 'down')}` : ''}</ul></section>`;
  }
}

function plainPage(pages: number): TemplateResult {
  return html`<span class=${pages > 1 ? 'sheet twice' : 'sheet'}><span class="sheet-beam"></span><span class="sheet-lines many"></span></span>`;
}
