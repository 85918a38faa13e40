// The visit: its clips, how far everything is, and the way to the next step. Never a dead end.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { cancelJob, watchJob, type JobProgress } from '../api/events.js';
import { Fault } from '../api/fault.js';
import { onTheWay, sendClip, sendings, stopSending, type Sending } from '../api/sendings.js';
import { icons } from '../parts/icons.js';
import { go } from '../shell/router.js';
import { may, say, type Action } from '../shell/store.js';
import { day, plural, t, wordFor } from '../words/index.js';
import { head, measured, nice, orNothing, purposeWords, stageWords, trialName, VisitPage, type RecordOf, type TrialRecord, type VisitDocument } from './visit_base.js';
import { historyOf } from './history_place.js';
import { readSetupQuery, setupFields, setupWords, type Setup } from './visit_setup.js';
import { icon } from './visit_icons.js';
import { trialPicture } from './visit_picture.js';
import './visit_trunk.js';
import type { TestRecord } from './visit_types.js';

interface HandOff { url: string; qr_svg: string; expires_at: string; reachable?: boolean; advice?: string | null }
interface Working { job: string; progress?: JobProgress; fault?: Fault }
interface Waiting { state: string; items: { id: string; state: string; trial?: string | null }[] }

@customElement('page-visit')
export class VisitWorkspace extends VisitPage {
  @state() private sendFault: Fault | undefined;
  @state() private working: Record<string, Working> = {};
  @state() private handOff: HandOff | undefined;
  @state() private over = false;
  @state() private setup: Setup = {};
  @state() private clipName = '';
  @state() private view_: 'side' | 'front' = 'side';
  @state() private tests = 0;
  @state() private plans = 0;
  private watching = new Map<string, () => void>();
  private looking: ReturnType<typeof setInterval> | undefined;

  protected override heading(): string { return t('visit_title'); }
  private get sent(): Sending | undefined { return sendings.value[this.visitId]; }
  private get sending(): Sending | undefined { return this.sent?.fault ? undefined : this.sent; }

  override connectedCallback(): void {
    super.connectedCallback();
    let before = this.sending;
    this.until(sendings.watch(() => {
      const arrived = before !== undefined && !this.sent;
      before = this.sending;
      this.requestUpdate();
      if (arrived && this.ready) void this.reload();
      else this.settle();
    }));
  }

  protected override async load(): Promise<void> {
    await super.load();
    if (!this.ready) { // later what is typed for the next clip stays
      this.setup = readSetupQuery(this.query.get('setup'));
      if (Object.keys(this.setup).length > 0) this.clipName = setupWords(this.setup);
    }
    const signal = this.leaving.signal;
    const [tests, plans] = await Promise.all([
      orNothing(api.get<RecordOf<TestRecord>>(`/visits/${this.visitId}/tests`, { signal })),
      may('read_records')
        ? orNothing(api.get<{ items: RecordOf<{ visit?: string }>[] }>(`/athletes/${this.athlete.id}/plans`, { signal })) : undefined,
    ]);
    this.tests = tests?.data.document.results.length ?? 0;
    this.plans = plans?.data.items.filter((plan) => plan.document.visit === this.visitId).length ?? 0;
    await this.findJobs();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    for (const stop of this.watching.values()) stop();
    clearInterval(this.looking);
  }

  protected override actions(): Action[] {
    // A typed lean does for what comes next, though a clip tells more.
    const newest = this.measuredTrials.at(-1) ?? this.visit?.document.trunk;
    const actions: Action[] = [];
    // While a clip is measured the tests are what can be done.
    const coming = this.sending !== undefined || Object.values(this.working).some((work) => !work.fault);
    if (!newest && !coming) actions.push({ label: t('visit_do_film'), act: () => this.querySelector<HTMLInputElement>('#clip-file')?.click(), first: true });
    else if (!newest || this.tests === 0) actions.push({ label: t('visit_do_tests'), href: `${this.base}/tests`, first: true });
    else if (this.plans === 0) actions.push({ label: t('visit_do_why'), href: `${this.base}/why`, first: true });
    else actions.push({ label: t('visit_do_report'), href: `${this.base}/report`, first: true });
    if (newest && this.tests > 0 && this.plans === 0) actions.push({ label: t('visit_do_plan'), href: `${this.base}/plan` });
    if (this.measuredTrials.length > 1) actions.push({ label: t('visit_do_compare'), href: `${this.base}/film/compare` });
    actions.push({ label: t('visit_do_live'), href: `${this.base}/live` }, { label: t('versions'), href: historyOf(this.visitId), icon: icons.history });
    return actions;
  }

  // ---- jobs

  private async findJobs(): Promise<void> {
    for (const trial of this.trials) {
      if (trial.job && ['waiting', 'running'].includes(trial.job.state)) this.follow(trial.id, trial.job.id);
    }
    const open = this.trials.filter((trial) => !measured(trial) && trial.document.state !== 'failed' && !this.working[trial.id]);
    if (open.length === 0) return;
    for (const state of ['running', 'waiting']) {
      const jobs = await orNothing(api.get<Waiting>('/jobs', { query: { state, limit: 100 }, signal: this.leaving.signal }));
      for (const job of jobs?.data.items ?? []) {
        if (job.trial && open.some((trial) => trial.id === job.trial)) this.follow(job.trial, job.id);
      }
    }
  }

  private follow(trial: string, job: string): void {
    if (this.watching.has(trial)) return;
    this.working = { ...this.working, [trial]: { job } };
    this.settle();
    const end = () => { this.watching.get(trial)?.(); this.watching.delete(trial); };
    this.watching.set(trial, watchJob(job, {
      progress: (progress) => { this.working = { ...this.working, [trial]: { job, progress } }; },
      done: () => { end(); void this.measuredNow(trial); },
      failed: (fault) => { end(); this.working = { ...this.working, [trial]: { job, fault } }; this.settle(); },
    }));
  }

  private async measuredNow(trial: string): Promise<void> {
    const rest = { ...this.working };
    delete rest[trial];
    this.working = rest;
    await this.reload();
    const first = this.measuredTrials.every((one) => one.id === trial);
    say(t('visit_measured'));
    const done = this.trials.find((one) => one.id === trial);
    // Who is at something here is not taken away from it.
    const busy = onTheWay(this.visitId) || this.handOff !== undefined || this.clipName !== '' || Object.keys(this.setup).length > 0;
    if (first && done && measured(done) && this.isConnected && !busy) await go(`${this.base}/film/${trial}`);
  }

  private async cancel(trial: string): Promise<void> {
    const work = this.working[trial];
    if (work) await cancelJob(work.job);
    this.watching.get(trial)?.();
    this.watching.delete(trial);
    const rest = { ...this.working };
    delete rest[trial];
    this.working = rest;
    await this.reload();
  }

  // ---- a clip comes in

  private async take(files: FileList | null): Promise<void> {
    const file = files?.[0];
    if (!file) return;
    this.sendFault = undefined;
    const about = () => ({ view: this.view_, ...(this.clipName ? { name: this.clipName } : {}), ...(Object.keys(this.setup).length > 0 ? { setup: this.setup } : {}) });
    const trial = await sendClip<TrialRecord>(this.visitId, file, about);
    if (!trial) return;
    this.clipName = '';
    this.setup = {};
    if (trial.job && this.isConnected) this.follow(trial.id, trial.job.id);
  }

  private readonly drop = (event: DragEvent): void => {
    event.preventDefault();
    this.over = false;
    void this.take(event.dataTransfer?.files ?? null);
  };

  private async offerPhone(): Promise<void> {
    try {
      this.handOff = (await api.post<HandOff>(`/visits/${this.visitId}/hand-off`, {})).data;
      if (!this.isConnected) return;
      clearInterval(this.looking);
      this.looking = setInterval(() => void this.lookForClip(), 3000);
    } catch (error) {
      this.sendFault = Fault.of(error);
    }
  }

  // The phone's clip makes a trial of its own: look until it is there.
  private async lookForClip(): Promise<void> {
    const items = await api.all<TrialRecord>(`/visits/${this.visitId}/trials`, { signal: this.leaving.signal }).catch(() => []);
    if (items.length <= this.trials.length) return;
    clearInterval(this.looking);
    this.handOff = undefined;
    say(t('visit_phone_arrived'));
    await this.reload();
  }

  // ---- pictures

  protected override view(): TemplateResult {
    const purpose = purposeWords(this.visit.document.purpose);
    return html`${head(`${this.name}`, html`${day(this.visit.document.date, 'long')}${purpose ? ` · ${purpose}` : ''}`)}
      ${this.signs()}
      <div class="stack gap-4">
        ${this.trials.length > 0 ? this.clips() : ''}
        ${this.filmPart()}
        ${this.states()}
      </div>`;
  }

  private clips(): TemplateResult {
    return html`<section class="course" aria-labelledby="clips"><header><h2 id="clips">${t('visit_clips')}</h2></header>
      <ul class="clip-row">${this.trials.map((trial, i) => this.clip(trial, i + 1))}</ul></section>`;
  }

  private clip(trial: TrialRecord, number: number): TemplateResult {
    const name = trialName(trial, number);
    const work = this.working[trial.id];
    const setup = setupWords((trial.document.setup ?? {}) as Setup);
    return html`<li class="clip-card">
      ${measured(trial) ? html`<a href="${this.base}/film/${trial.id}" class="clip-open" aria-label=${t('visit_open_trial', { name })}>
        ${trialPicture(trial)}</a>` : html`<div class="clip-open waiting" aria-hidden="true">${icon('film')}</div>`}
      <div class="clip-words"><h3>${name}</h3>
        ${setup && setup !== name ? html`<p class="small quiet">${setup}</p>` : ''}
        ${trial.document.corrections && hasCorrections(trial) ? html`<p class="small"><span class="tag">${t('visit_corrected')}</span></p>` : ''}
        ${work?.fault ? this.failed(work.fault) : work ? this.progress(trial.id, work) : this.outcome(trial)}
      </div></li>`;
  }

  private outcome(trial: TrialRecord): TemplateResult {
    const { state, fault, mend } = trial.document;
    if (measured(trial)) return html`<a class="button" href="${this.base}/film/${trial.id}">${t('visit_open')}</a>`;
    if (state === 'failed' || fault) return this.failed(new Fault(422, t('visit_clip_failed'), fault ?? t('visit_clip_failed'), { mend: mend ?? '' }));
    return html`<p class="small quiet">${t('visit_clip_waits')}</p>`;
  }

  private failed(fault: Fault): TemplateResult {
    return html`<div class="sign" role="alert"><strong>${nice(fault.message || fault.title)}</strong>${fault.mend ? html`<p>${nice(fault.mend)}</p>` : ''}
      <p>${t('visit_film_again')}</p></div>`;
  }

  private progress(trial: string, work: Working): TemplateResult {
    const progress = work.progress;
    // A job that waits behind another tells of itself as well, without a stage.
    const words = !progress || progress.state === 'waiting' ? t('visit_waits') : stageWords(progress.stage || 'find body and bar');
    return html`<div class="progress" role="status"><label for="p-${trial}">${words}</label>
      ${progress && progress.total > 0
        ? html`<progress id="p-${trial}" max=${progress.total} value=${progress.done}></progress>`
        : html`<progress id="p-${trial}"></progress>`}
      <button class="button" @click=${() => this.cancel(trial)}>${t('visit_cancel')}</button></div>`;
  }

  private filmPart(): TemplateResult {
    const empty = this.trials.length === 0;
    const fault = this.sendFault ?? this.sent?.fault;
    return html`<section class="course film" aria-labelledby="film">
      <header><h2 id="film">${empty ? t('visit_film_first') : t('visit_film_more')}</h2></header>
      ${fault ? html`<div class="sign" role="alert"><strong>${nice(fault.message || fault.title)}</strong><p>${fault.mend ? nice(fault.mend) : t('visit_send_again')}</p></div>` : ''}
      ${this.sending ? this.sendingView() : this.ways(empty)}
      ${this.handOff ? this.phone(this.handOff) : ''}
      ${empty ? html`<p class="how quiet">${t('visit_film_how')}</p>` : ''}
      ${this.different()}
      ${this.measuredTrials.length === 0 && may('enter_tests') ? html`<typed-trunk .visit=${this.visit} .changed=${(visit: RecordOf<VisitDocument>) => { this.visit = visit; this.requestUpdate(); this.settle(); }}></typed-trunk>` : ''}</section>`;
  }

  private ways(empty: boolean): TemplateResult {
    const input = (id: string, capture: boolean) => html`<input id=${id} class="for-ears" type="file" tabindex="-1" aria-hidden="true" accept="video/*,image/*"
      capture=${capture ? 'environment' : (undefined as unknown as string)}
      @change=${(event: Event) => { const field = event.target as HTMLInputElement; void this.take(field.files).then(() => { field.value = ''; }); }}>`;
    return html`<div class=${`drop ${this.over ? 'over' : ''} ${empty ? 'tall' : ''}`}
        @dragover=${(event: DragEvent) => { event.preventDefault(); this.over = true; }}
        @dragleave=${() => { this.over = false; }} @drop=${this.drop}>
      ${filePicker('clip-camera', true)}${filePicker('clip-file', false)}
      <div class="film-ways">
        <button class="film-way" @click=${() => this.press('clip-camera')}>${icon('camera')}<span>${t('visit_way_camera')}</span></button>
        <button class="film-way" @click=${() => this.press('clip-file')}>${icon('film')}<span>${t('visit_way_file')}</span></button>
        <button class="film-way" @click=${() => this.offerPhone()}>${icon('phone')}<span>${t('visit_way_phone')}</span></button>
        <a class="film-way" href="${this.base}/live">${icon('live')}<span>${t('visit_way_live')}</span></a>
      </div>
      <p class="quiet small">${t('visit_drop_here')}</p></div>`;

    function filePicker(id: string, capture: boolean): TemplateResult {
      return input(id, capture);
    }
  }

  private press(id: string): void { this.querySelector<HTMLInputElement>(`#${id}`)?.click(); }

  private sendingView(): TemplateResult {
    const { name, sent, total, waiting } = this.sending!;
    return html`<div class="progress" role="status"><label for="sending">${waiting ? t('visit_sending_waits') : t('visit_sending', { name })}</label>
      <progress id="sending" max=${Math.max(total, 1)} value=${sent}></progress>
      <button class="button" @click=${() => stopSending(this.visitId)}>${t('visit_cancel')}</button></div>`;
  }

  private phone(offer: HandOff): TemplateResult {
    const until = offer.expires_at ? new Date(offer.expires_at).toLocaleTimeString([], { hour: '2-digit', minute: '2-digit' }) : '';
    return html`<div class="phone-offer stone" role="status">
      <img class="square-code" alt=${t('visit_phone_code')} src=${`data:image/svg+xml;utf8,${encodeURIComponent(offer.qr_svg)}`} width="200" height="200">
      <div class="stack"><h3>${t('visit_phone_how')}</h3><p>${t('visit_phone_once', { until })}</p>
        ${offer.advice ? html`<p class="sign">${nice(offer.advice)}</p>` : ''}<p class="small"><code>${offer.url}</code></p>
        <button class="button" @click=${() => { this.handOff = undefined; clearInterval(this.looking); }}>${t('visit_phone_close')}</button></div></div>`;
  }

  // What the next clip is: a name, the view, a setup that is not the usual one.
  private different(): TemplateResult {
    const today = (this.athlete.document.athlete.setup ?? {}) as Setup;
    const given = Object.keys(this.setup).length > 0;
    return html`<details class="numbers" ?open=${given}><summary>${given ? t('visit_next_clip', { setup: setupWords(this.setup) }) : t('visit_different')}</summary>
      <div class="stack gap-2" id="next-clip">
        <div class="field"><label for="clip-name">${t('visit_clip_name')}</label><div class="well"><input id="clip-name" maxlength="120" .value=${this.clipName}
          @input=${(event: Event) => { this.clipName = (event.target as HTMLInputElement).value; }}></div></div>
        <fieldset class="choice"><legend>${t('visit_view')}</legend><div class="stones">${(['side', 'front'] as const).map((view) => html`<label>
          <input type="radio" name="view" .checked=${this.view_ === view} @change=${() => { this.view_ = view; }}><span>${wordFor('visit_view', view)}</span></label>`)}</div></fieldset>
        ${setupFields('next', this.setup, today, (setup) => { this.setup = setup; })}
      </div></details>`;
  }

  private states(): TemplateResult {
    const newest = this.measuredTrials.at(-1) ?? this.visit.document.trunk;
    const row = (href: string, name: string, state: string, done: boolean) => html`<li><a class="state-row" href=${`${this.base}/${href}`}>
      <span class=${done ? 'state-mark done' : 'state-mark'} aria-hidden="true"></span><strong>${name}</strong><span class="quiet">${state}</span>${icon('onward')}</a></li>`;
    return html`<section class="course" aria-labelledby="states"><header><h2 id="states">${t('visit_states')}</h2></header>
      <ul class="states">
        ${row('tests', t('visit_nav_tests'), this.tests > 0 ? plural('visit_tests_done', this.tests) : t('visit_tests_none'), this.tests > 0)}
        ${may('read_records') ? html`
          ${row('why', t('visit_nav_why'), newest || this.tests > 0 ? t('visit_why_ready') : t('visit_why_needs'), Boolean(newest) && this.tests > 0)}
          ${row('what-if', t('visit_nav_what_if'), t('visit_what_if_state'), false)}
          ${row('plan', t('visit_nav_plan'), this.plans > 0 ? t('visit_plan_there') : t('visit_plan_none'), this.plans > 0)}
          ${row('report', t('visit_nav_report'), t('visit_report_state'), false)}` : ''}
      </ul></section>`;
  }
}

function hasCorrections(trial: TrialRecord): boolean {
  const c = trial.document.corrections;
  return Boolean(c && ((c.points?.length ?? 0) > 0 || (c.events?.length ?? 0) > 0));
}

