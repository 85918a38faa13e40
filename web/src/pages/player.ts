// The squat on the screen: picture by picture, the body drawn over it, numbers beside it, curves under it;
// and everything can be put right by hand.
import { html, svg, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import { api } from '../api/client.js';
import { cancelJob, watchJob, type JobProgress } from '../api/events.js';
import { Fault } from '../api/fault.js';
import { button, choice } from '../parts/controls.js';
import { ask } from '../parts/dialog.js';
import { followPointer, nudged } from '../parts/handle.js';
import { look } from '../parts/look.js';
import { icons } from '../parts/icons.js';
import { quantity, quantityText } from '../parts/quantity.js';
import { errorView, faultWords, progressView } from '../parts/views.js';
import { may, say, type Action } from '../shell/store.js';
import { day, t, wordFor } from '../words/index.js';
import { historyOf } from './history_place.js';
import { cautionsView, clipOf, head, shownNumber, stageWords, trialName, VisitPage, type Corrections, type RecordOf, type ShiftedEvent, type TrialRecord } from './visit_base.js';
import { icon } from './visit_icons.js';
import { clamp, type Point } from './visit_geometry.js';
import { filmsOf, followPictures, frameAt, indexOfFrame, Seeker, timeInside } from './player_frames.js';
import { anglesByHand, Clip, movable, pointKey, type CurvesFile, type Movable, type PointsFile } from './player_data.js';
import { drawOverlay, type AngleName, type AngleShown } from './player_overlay.js';
import { Keeping, readTrial, roadTo } from './player_keeping.js';
import { explainNumber } from './player_numbers.js';
import { pictureFields, type PictureChoice } from './player_picture.js';
import { pictureFacts, repetitionTable } from './player_tables.js';
import './player_curves.js';

const readOuts = ['trunk_inclination', 'shank_inclination', 'knee_flexion', 'hip_flexion', 'shoulder_elevation', 'ankle_dorsiflexion',
  'depth', 'bar_x', 'heel_lift'] as const;
const speeds = ['0.25', '0.5', '1'];

@customElement('page-player')
export class Player extends VisitPage {
  @state() private clip: Clip | undefined;
  @state() private index = 0;
  @state() private playing = false;
  @state() private speed = '0.5';
  @state() private channel: string = 'trunk_inclination';
  @state() private correcting = false;
  @state() private asMeasured = false;
  @state() private moved = new Map<string, Point>();
  @state() private chosen: Movable = 'knee';
  @state() private work: { job: string; progress?: JobProgress } | undefined;
  @state() private saveFault: Fault | undefined;
  /** Which of the trial's films plays here: one that the browser cannot play gives way to the next. */
  @state() private film = 0;
  private films: string[] = [];
  /** The frame that was asked for while its picture is on its way. */
  private wished: number | undefined;
  private corrected: Clip | undefined;
  private original: Clip | undefined;
  private keeping!: Keeping;
  private seeker: Seeker | undefined;
  private stopWatching: () => void = () => undefined;
  private saving: ReturnType<typeof setTimeout> | undefined;
  private following: (() => void) | undefined;

  private get trial(): TrialRecord { return this.keeping.record; }
  private get trialId(): string { return this.params['trial'] ?? ''; }
  private get video(): HTMLVideoElement | null { return this.querySelector('video'); }
  private get still(): boolean { return (this.clip?.times.length ?? 0) <= 1; }
  /** Where the next step starts from. */
  private get asked(): number { return this.wished ?? this.index; }

  protected override heading(): string {
    const at = this.trials.findIndex((trial) => trial.id === this.trialId);
    return at >= 0 ? trialName(this.trials[at]!, at + 1) : t('player_title');
  }

  protected override async load(): Promise<void> {
    await super.load();
    const trial = await readTrial(this.trialId, this.leaving.signal);
    if (this.keeping?.record.id === trial.id) this.keeping.renew(trial);
    else this.keeping = new Keeping(trial, roadTo(trial.id));
    this.films = filmsOf(this.trial);
    this.clip = await this.loadClip();
    this.corrected = this.clip;
    this.moved = this.keeping.points;
    const wanted = Number(this.query.get('frame') ?? NaN);
    const first = this.clip.repetitions[0]?.bottom.frame ?? this.clip.frames[0] ?? 0;
    this.index = indexOfFrame(this.clip.frames, Number.isFinite(wanted) ? wanted : first);
    if (this.trial.job && ['waiting', 'running'].includes(this.trial.job.state)) this.watch(this.trial.job.id);
    void this.loadPoints(this.clip);
  }

  private async loadClip(version?: number): Promise<Clip> {
    const options = { signal: this.leaving.signal, query: version ? { version } : {} };
    const [assessment, curves] = await Promise.all([
      api.get<Clip['assessment']>(`/trials/${this.trialId}/assessment`, options),
      api.get<CurvesFile>(`/trials/${this.trialId}/curves`, options),
    ]);
    return new Clip(assessment.data, curves.data, undefined);
  }

  // Landmarks and disc come after the first picture: they are long.
  private async loadPoints(clip: Clip): Promise<void> {
    try {
      clip.points = (await api.get<PointsFile>(`/trials/${this.trialId}/points`, { signal: this.leaving.signal })).data;
      this.requestUpdate();
    } catch { /* without them nothing can be moved; the picture stands */ }
  }

  protected override actions(): Action[] {
    const actions: Action[] = [{ label: t('visit_do_tests'), href: `${this.base}/tests` }];
    if (may('read_records')) actions.unshift({ label: t('visit_do_why'), href: `${this.base}/why?trial=${this.trialId}`, first: true });
    if (this.measuredTrials.length > 1) actions.push({ label: t('visit_do_compare'), href: `${this.base}/film/compare?a=${this.trialId}` });
    actions.push({ label: t('visit_film_more'), href: `${this.base}/film` }, { label: t('versions'), href: historyOf(this.trialId), icon: icons.history });
    return actions;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    document.addEventListener('visibilitychange', this.outOfSight);
    this.until(() => document.removeEventListener('visibilitychange', this.outOfSight));
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.sendWaiting();
    this.stopWatching();
    this.following?.();
    this.seeker?.stop();
  }

  // ---- the picture on the screen

  private videoReady(): void {
    const video = this.video;
    if (!video) return;
    this.seeker?.stop();
    this.seeker = new Seeker(video, () => this.arrived());
    this.following?.();
    this.following = followPictures(video, (time) => {
      if (this.clip) this.index = frameAt(this.clip.times, time);
      if (this.playing || this.index === this.wished) this.wished = undefined;
    });
    video.playbackRate = Number(this.speed);
    this.show(this.asked);
  }

  private videoBroken(): void {
    this.seeker?.stop();
    this.seeker = undefined;
    this.film += 1;
  }

  // Nothing tells of a picture that was on the screen before: so after a moment the wish counts as seen.
  private arrived(): void {
    requestAnimationFrame(() => requestAnimationFrame(() => {
      if (this.wished !== undefined && !this.video?.seeking) [this.index, this.wished] = [this.wished, undefined];
    }));
  }

  private show(index: number): void {
    if (!this.clip) return;
    const at = clamp(Math.round(index), 0, this.clip.times.length - 1);
    if (this.playing) this.video?.pause();
    // Body, numbers and curve belong to the picture on the screen, so they wait for it.
    if (this.seeker) this.wished = at;
    else this.index = at;
    this.seeker?.to(timeInside(this.clip.times, at));
  }

  private toggle(): void {
    const video = this.video;
    if (!video) return;
    if (video.paused) void video.play();
    else { video.pause(); this.show(this.asked); }
  }

  private readonly keys = (event: KeyboardEvent): void => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const target = event.target as HTMLElement;
    if (target.closest('input, select, textarea, .handle')) return;
    const step: Record<string, () => void> = {
      ArrowLeft: () => this.show(this.asked - (event.shiftKey ? 10 : 1)),
      ArrowRight: () => this.show(this.asked + (event.shiftKey ? 10 : 1)),
      ' ': () => this.toggle(),
    };
    const act = step[event.key];
    if (!act || (event.key === ' ' && target.closest('button, a, summary'))) return;
    event.preventDefault();
    act();
  };

  // ---- corrections

  private get movedNow(): Map<string, Point> { return this.asMeasured ? new Map() : this.moved; }

  private movePoint(name: Movable, to: Point, done: boolean): void {
    const clip = this.clip!;
    const frame = clip.frames[this.index] ?? 0;
    const inside: Point = [clamp(to[0], 0, clip.width), clamp(to[1], 0, clip.height)];
    this.keeping.move(pointKey(frame, `${clip.near}_${name}`), inside);
    this.moved = this.keeping.points;
    this.chosen = name;
    if (done) this.saveSoon();
  }

  private saveSoon(): void {
    clearTimeout(this.saving);
    this.saving = setTimeout(() => void this.save(), 900);
  }

  /** The page is left: what was moved in the last moment does not wait for the pause after it. */
  private sendWaiting(): void {
    clearTimeout(this.saving);
    if (this.keeping?.waiting) void this.keeping.save().catch((error: unknown) => say(t('player_not_kept', { why: faultWords(Fault.of(error)).words })));
  }

  private readonly outOfSight = (): void => { if (document.hidden && this.keeping?.waiting) void this.save(); };

  private save(change?: (now: Corrections) => Corrections): Promise<void> {
    clearTimeout(this.saving);
    return this.kept(this.keeping.save(change));
  }

  private async kept(saved: Promise<TrialRecord>): Promise<void> {
    this.saveFault = undefined;
    try {
      const { job } = await saved;
      if (!this.isConnected) return;
      if (job) this.watch(job.id);
      else await this.measuredAgain();
    } catch (error) {
      this.saveFault = Fault.of(error);
    }
  }

  private watch(job: string): void {
    this.stopWatching();
    this.work = { job };
    this.stopWatching = watchJob(job, {
      progress: (progress) => { this.work = { job, progress }; },
      done: () => { this.work = undefined; void this.measuredAgain(); },
      failed: (fault) => { this.work = undefined; this.saveFault = fault; },
    });
  }

  private async measuredAgain(): Promise<void> {
    try {
      this.keeping.renew(await readTrial(this.trialId, this.leaving.signal));
      const clip = await this.loadClip();
      clip.points = this.corrected?.points;
      this.clip = clip;
      this.corrected = clip;
      this.asMeasured = false;
      this.moved = this.keeping.points;
      say(t('player_measured_again'));
      void this.loadPoints(clip);
    } catch (error) {
      if (!(error instanceof DOMException)) this.saveFault = Fault.of(error);
    }
  }

  private async undoAll(): Promise<void> {
    if (!(await ask({ title: t('player_undo_title'), words: t('player_undo_words'), yes: t('player_undo_all') }))) return;
    clearTimeout(this.saving);
    const undone = this.keeping.undo();
    this.moved = new Map();
    await this.kept(undone);
  }

  private get hasCorrections(): boolean {
    const c = this.trial?.document.corrections;
    return Boolean(c && ((c.points?.length ?? 0) + (c.events?.length ?? 0) > 0 || c.person || c.vertical_deg || c.disc_mm));
  }

  // The first measurement is kept as the version before the first correction.
  private async showOriginal(on: boolean): Promise<void> {
    this.asMeasured = on;
    if (!on) { this.clip = this.corrected; return; }
    try {
      this.original ??= await this.loadOriginal();
      if (this.asMeasured) this.clip = this.original;
    } catch (error) {
      this.saveFault = Fault.of(error);
    }
  }

  private async loadOriginal(): Promise<Clip> {
    const versions = await api.get<{ items: RecordOf<TrialRecord['document']>[] }>(`/records/${this.trialId}/versions`, { signal: this.leaving.signal });
    const sound = versions.data.items.find((one) => (one.document?.results?.length ?? 0) > 0);
    const clip = await this.loadClip(sound?.version ?? 1);
    clip.points = this.corrected?.points;
    return clip;
  }

  private shiftEvent(moment: ShiftedEvent['event']): void {
    const clip = this.clip!;
    const frame = clip.frames[this.index] ?? 0;
    const nearest = [...clip.repetitions].sort((a, b) => Math.abs(a[moment].frame - frame) - Math.abs(b[moment].frame - frame))[0];
    if (!nearest) return;
    const others = (events: ShiftedEvent[] = []) => events.filter((one) => one.repetition !== nearest.number || one.event !== moment);
    void this.save((now) => ({ ...now, events: [...others(now.events), { repetition: nearest.number, event: moment, frame }] }));
  }

  private choosePicture(choice: PictureChoice): void {
    void this.save((now) => ({ ...now, person: choice.person ?? null, vertical_deg: choice.vertical_deg ?? null, disc_mm: choice.disc_mm ?? null }));
  }

  // ---- what is seen

  protected override view(): TemplateResult {
    const clip = this.clip!;
    return html`${head(this.heading(), html`${this.name} · ${day(this.visit.document.date)}`)}
      <div class="player" @keydown=${this.keys}>
        <div class="stage">${this.screen(clip)}</div>
        <div class="controls">${this.transport(clip)}</div>
        <div class="numbers-now">${this.numbers(clip)}</div>
        <div class="corrections">${this.correctionPart(clip)}</div>
        <div class="curves">${this.curvePart(clip)}</div>
      </div>
      ${repetitionTable(clip, this.channel)}
      ${pictureFacts(clip)}
      ${cautionsView(clip.assessment.cautions)}`;
  }

  private screen(clip: Clip): TemplateResult {
    const ratio = clip.width / clip.height;
    const wide = ratio > 1;
    return html`<div class=${`screen ${wide ? 'wide' : 'tall'}`} ${look({ '--ratio': ratio })}>
      ${this.still
        ? html`<img src=${clipOf(this.trialId)} alt=${t('player_picture')}>`
        : html`<video src=${this.films[Math.min(this.film, this.films.length - 1)]!} muted playsinline preload="auto" tabindex="-1"
            aria-label=${t('player_picture')} @loadeddata=${() => this.videoReady()} @error=${() => this.videoBroken()}
            @play=${() => { this.playing = true; }} @pause=${() => { this.playing = false; }} @ended=${() => { this.playing = false; }}></video>`}
      <svg class="over on-picture" viewBox="0 0 ${clip.width} ${clip.height}" aria-hidden="true">${this.overlay(clip)}</svg>
      ${this.correcting && !this.asMeasured ? this.handles(clip) : ''}
    </div>
    <p class="stage-words" aria-live=${this.playing ? 'off' : 'polite'}>${this.where(clip)}</p>
    ${this.film >= this.films.length - 1 ? html`<p class="small quiet">${t('player_unplayable')}</p>` : ''}`;
  }

  private where(clip: Clip): string {
    const phase = clip.phase(this.index);
    const time = shownNumber(clip.times[this.index] ?? 0, 's', 2);
    const frame = clip.frames[this.index] ?? 0;
    return phase ? t('player_where', { n: phase.number, of: clip.repetitions.length, moment: wordFor('player_moment', phase.moment), time, frame })
      : t('player_between', { time, frame });
  }

  private angleShown(clip: Clip, channel: string, byHand: Record<string, number> | undefined): AngleShown | undefined {
    const hand = byHand?.[channel];
    if (hand !== undefined) return { value: hand, error: null, byHand: true };
    const value = clip.value(channel, this.index);
    return value ? { ...value, byHand: false } : undefined;
  }

  /** Angles from moved points while the fit of them is not there yet. */
  private handAngles(clip: Clip): Record<string, number> | undefined {
    if (this.asMeasured || !this.unsaved(clip)) return undefined;
    return anglesByHand(clip.figure(this.index, this.moved), clip.facing, clip.roll);
  }

  private unsaved(clip: Clip): boolean {
    const frame = clip.frames[this.index] ?? 0;
    const busy = this.work !== undefined;
    return movable.some((name) => {
      const key = pointKey(frame, `${clip.near}_${name}`);
      return this.keeping.waits(key) || (busy && this.moved.has(key));
    });
  }

  private overlay(clip: Clip): TemplateResult {
    const byHand = this.handAngles(clip);
    const angles: Partial<Record<AngleName, AngleShown>> = {};
    const channelOf: Record<AngleName, string> = { trunk: 'trunk_inclination', shank: 'shank_inclination', knee: 'knee_flexion', shoulder: 'shoulder_elevation' };
    for (const [name, channel] of Object.entries(channelOf)) {
      const angle = this.angleShown(clip, channel, byHand);
      if (angle) angles[name as AngleName] = angle;
    }
    return svg`${drawOverlay({
      width: clip.width, height: clip.height, figure: clip.figure(this.index, byHand ? this.movedNow : new Map()), disc: clip.disc(this.index),
      facing: clip.facing, roll: clip.roll, angles, labels: !this.correcting,
      label: (name, angle) => `${wordFor('player_short', name)} ${quantityText(angle.value, 'deg', angle.error)}`,
    })}`;
  }

  private handles(clip: Clip): TemplateResult {
    return html`${movable.map((name) => {
      const key = pointKey(clip.frames[this.index] ?? 0, `${clip.near}_${name}`);
      const at = this.moved.get(key) ?? clip.landmark(this.index, `${clip.near}_${name}`);
      if (!at) return '';
      const byHand = this.moved.has(key);
      return html`<button class=${`handle ${byHand ? 'by-hand' : ''} ${this.chosen === name ? 'chosen' : ''}`} data-point=${name}
        ${look({ left: `${(100 * at[0]) / clip.width}%`, top: `${(100 * at[1]) / clip.height}%` })}
        aria-label=${t('player_handle', { point: wordFor('player_point', name), x: Math.round(at[0]), y: Math.round(at[1]) })}
        @focus=${() => { this.chosen = name; }}
        @pointerdown=${(event: PointerEvent) => this.drag(event, name)}
        @keydown=${(event: KeyboardEvent) => this.nudge(event, name, at)}><span aria-hidden="true"></span></button>`;
    })}`;
  }

  private drag(event: PointerEvent, name: Movable): void {
    followPointer(event, this.querySelector('.screen')!, this.clip!, (to, done) => this.movePoint(name, to, done));
  }

  private nudge(event: KeyboardEvent, name: Movable, at: Point): void {
    const to = nudged(event, at);
    if (!to) return;
    event.stopPropagation();
    this.movePoint(name, to, true);
  }

  private transport(clip: Clip): TemplateResult {
    if (this.still) return html``;
    const last = clip.times.length - 1;
    return html`<div class="transport">
      <input class="scrub" type="range" min="0" max=${last} step="1" .value=${live(String(this.asked))} aria-label=${t('player_scrub')}
        aria-valuetext=${this.where(clip)} @input=${(event: Event) => this.show(Number((event.target as HTMLInputElement).value))}>
      <div class="marks" aria-hidden="true">${clip.repetitions.map((one) => html`<span ${look({ left: `${(100 * indexOfFrame(clip.frames, one.bottom.frame)) / Math.max(last, 1)}%` })}></span>`)}</div>
      <div class="row transport-row">
        ${button({ label: t('player_back'), icon: icon('back'), iconOnly: true, act: () => this.show(this.asked - 1) })}
        ${button({ label: this.playing ? t('player_pause') : t('player_play'), icon: icon(this.playing ? 'pause' : 'play'), iconOnly: true, act: () => this.toggle() })}
        ${button({ label: t('player_forth'), icon: icon('forth'), iconOnly: true, act: () => this.show(this.asked + 1) })}
        <span class="bottoms">${clip.repetitions.map((one) => html`<button class="button bottom-mark" aria-pressed=${one.bottom.frame === clip.frames[this.index] ? 'true' : 'false'}
          aria-label=${t('player_to_bottom', { n: one.number })} @click=${() => this.show(indexOfFrame(clip.frames, one.bottom.frame))}>${icon('bottom')}<span aria-hidden="true">${one.number}</span></button>`)}</span>
        ${choice({ id: 'speed', label: t('player_speed'), quiet: true, value: this.speed, options: speeds.map((speed) => [speed, t('player_speed_of', { speed: speed === '0.25' ? '¼' : speed === '0.5' ? '½' : '1' })]),
          change: (speed) => { this.speed = speed; if (this.video) this.video.playbackRate = Number(speed); } })}
      </div></div>`;
  }

  private numbers(clip: Clip): TemplateResult {
    const byHand = this.handAngles(clip);
    const shown = readOuts.filter((channel) => clip.curves.channels[channel]);
    return html`<ul class="readouts" aria-label=${t('player_numbers')}>${shown.map((channel) => {
      const angle = this.angleShown(clip, channel, byHand);
      const unit = clip.curves.channels[channel]!.unit;
      return html`<li><button class=${`readout ${channel} ${angle?.byHand ? 'by-hand' : ''}`} data-channel=${channel} @click=${() => this.openNumber(clip, channel)}>
        <span class="readout-name">${wordFor('player_channel', channel)}</span>
        ${quantity({ value: angle?.value ?? null, ...(angle?.error !== null && angle?.error !== undefined ? { error: angle.error } : {}), unit, size: 'large' })}
        ${angle?.byHand ? html`<span class="small">${t('player_by_hand')}</span>` : ''}</button></li>`;
    })}</ul>`;
  }

  private openNumber(clip: Clip, channel: string): void {
    this.channel = channel;
    void explainNumber(clip, channel, this.index, this.heading());
  }

  private correctionPart(clip: Clip): TemplateResult {
    if (!may('enter_tests')) return html``;
    const count = this.moved.size + (this.trial.document.corrections?.events?.length ?? 0);
    return html`<section class="correct" aria-label=${t('player_correct')}>
      <div class="row">
        ${button({ label: t('player_correct'), pressed: this.correcting, act: () => { this.correcting = !this.correcting; if (this.correcting && this.asMeasured) void this.showOriginal(false); } })}
        ${this.hasCorrections ? button({ label: t('player_as_measured'), pressed: this.asMeasured, act: () => this.showOriginal(!this.asMeasured) }) : ''}
        ${this.hasCorrections ? button({ label: t('player_undo_all'), kind: 'bare', icon: icon('undo'), act: () => this.undoAll() }) : ''}
      </div>
      ${this.work ? progressView({ words: this.work.progress ? stageWords(this.work.progress.stage) : t('player_measuring_again'),
        done: this.work.progress?.done ?? 0, total: this.work.progress?.total ?? 0, stop: () => void this.stopWork() }) : ''}
      ${this.saveFault ? errorView(this.saveFault, this.keeping.waiting ? () => void this.save() : undefined) : ''}
      ${this.correcting ? html`<p class="quiet small">${clip.points ? t('player_correct_how') : t('player_points_coming')}</p>
        <div class="row">${(['start', 'bottom', 'end'] as const).map((moment) => button({ label: t('player_event_here', { moment: wordFor('player_moment', moment) }), act: () => this.shiftEvent(moment) }))}</div>
        ${count > 0 ? html`<p class="small">${t('player_corrections', { n: count })}</p>` : ''}
        ${pictureFields({ people: clip.points?.people ?? 1, chosen: clip.points?.chosen_person ?? 1, now: this.trial.document.corrections ?? {}, roll: clip.roll,
          choose: (one) => this.choosePicture(one) })}` : ''}
    </section>`;
  }

  private async stopWork(): Promise<void> {
    const job = this.work?.job;
    this.stopWatching();
    this.work = undefined;
    if (job) await cancelJob(job).catch(() => undefined);
    await this.reload();
  }

  private curvePart(clip: Clip): TemplateResult {
    const channels = Object.keys(clip.curves.channels);
    const label = wordFor('player_channel', this.channel);
    return html`<div class="row between"><div class="field"><label for="channel">${t('player_curve')}</label><div class="well"><select id="channel"
        @change=${(event: Event) => { this.channel = (event.target as HTMLSelectElement).value; }}>${channels.map((channel) => html`<option value=${channel} ?selected=${channel === this.channel}>${wordFor('player_channel', channel)}</option>`)}</select><span class="chevron"></span></div></div>
        <p class="small quiet">${t('player_curve_key')}</p></div>
      <lt-curve .clip=${clip} .channel=${this.channel} .label=${label} .index=${this.index} .seek=${(index: number) => this.show(index)}></lt-curve>`;
  }
}
