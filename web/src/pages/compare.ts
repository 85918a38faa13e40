// Side by side: clips at the same moment of the squat, and which differences are real.
import { html, svg, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button } from '../parts/controls.js';
import { look } from '../parts/look.js';
import { emptyState, errorView } from '../parts/views.js';
import { quantity, quantityText } from '../parts/quantity.js';
import { keepInAddress } from '../shell/router.js';
import { may, type Action } from '../shell/store.js';
import { t, wordFor } from '../words/index.js';
import { cautionsView, head, shownNumber, trialName, VisitPage, type TrialRecord } from './visit_base.js';
import { Clip, type CurvesFile, type PointsFile } from './player_data.js';
import { filmsOf, followPictures, frameAt, indexOfFrame, Seeker, timeInside } from './player_frames.js';
import { drawOverlay } from './player_overlay.js';
import { setupWords, type Setup } from './visit_setup.js';
import { icon } from './visit_icons.js';

interface Measure { measure: string; label?: string; unit?: string; a: number | null; b: number | null; difference: number | null; error: number | null; real: boolean | null }
interface Comparison { measures: Measure[]; cautions?: { code: string; text: string }[] }
interface Lane { trial: TrialRecord; number: number; clip: Clip; index: number; seeker?: Seeker | undefined; stop?: (() => void) | undefined; film?: number }

const before = 1.6; // [s] shown ahead of the bottom and after it
const first = ['trunk_inclination', 'shank_inclination', 'depth', 'shoulder_elevation'];

@customElement('page-compare')
export class Compare extends VisitPage {
  @state() private chosen: string[] = [];
  @state() private lanes: Lane[] = [];
  @state() private offset = 0; // [s] from the bottom
  @state() private comparisons: Record<string, Comparison> = {};
  @state() private compareFault: Fault | undefined;
  private timer = 0;
  private turn = 0;
  @state() private playing = false;

  protected override heading(): string { return t('compare_title'); }

  protected override async load(): Promise<void> {
    await super.load();
    const ids = this.measuredTrials.map((trial) => trial.id);
    const wanted = [this.query.get('a'), this.query.get('b'), this.query.get('c')].filter((id): id is string => id !== null && ids.includes(id));
    const others = ids.filter((id) => !wanted.includes(id));
    this.chosen = wanted.length >= 2 ? wanted : [...wanted, ...others.slice(wanted.length - 2)];
    await this.loadLanes();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    cancelAnimationFrame(this.timer);
    for (const lane of this.lanes) { lane.stop?.(); lane.seeker?.stop(); }
  }

  protected override actions(): Action[] {
    const actions: Action[] = [];
    if (may('read_records')) actions.push({ label: t('visit_do_why'), href: `${this.base}/why`, first: true });
    actions.push({ label: t('visit_film_more'), href: `${this.base}/film` });
    return actions;
  }

  private async loadLanes(): Promise<void> {
    if (this.chosen.length < 2) return;
    const turn = ++this.turn;
    const signal = this.leaving.signal;
    const lanes = await Promise.all(this.chosen.map(async (id): Promise<Lane> => {
      const known = this.lanes.find((lane) => lane.trial.id === id);
      if (known) return known;
      const [assessment, curves] = await Promise.all([api.get<Clip['assessment']>(`/trials/${id}/assessment`, { signal }), api.get<CurvesFile>(`/trials/${id}/curves`, { signal })]);
      const clip = new Clip(assessment.data, curves.data, undefined);
      void api.get<PointsFile>(`/trials/${id}/points`, { signal }).then((answer) => { clip.points = answer.data; this.requestUpdate(); }).catch(() => undefined);
      const number = this.trials.findIndex((trial) => trial.id === id) + 1;
      return { trial: this.trials[number - 1]!, number, clip, index: indexOfFrame(clip.frames, bottomOf(clip)) };
    }));
    if (turn !== this.turn) return; // others were chosen meanwhile
    this.lanes = lanes;
    keepInAddress({ a: this.chosen[0], b: this.chosen[1], c: this.chosen[2] });
    void this.loadComparisons();
  }

  private async loadComparisons(): Promise<void> {
    const [a, ...others] = this.chosen;
    const { turn } = this;
    this.compareFault = undefined;
    try {
      const answers = await Promise.all(others.map((b) => api.post<Comparison>(`/trials/${a}/comparison`, undefined, { query: { with: b }, signal: this.leaving.signal })));
      if (turn !== this.turn) return;
      this.comparisons = Object.fromEntries(answers.map((answer, i) => [others[i]!, answer.data]));
    } catch (error) {
      if (turn === this.turn && !(error instanceof DOMException)) this.compareFault = Fault.of(error);
    }
  }

  // ---- one clock for all

  private laneReady(lane: Lane, video: HTMLVideoElement): void {
    lane.seeker?.stop();
    lane.seeker = new Seeker(video);
    lane.stop?.();
    lane.stop = followPictures(video, (time) => { lane.index = frameAt(lane.clip.times, time); this.requestUpdate(); });
    this.showLane(lane);
  }

  private showLane(lane: Lane): void {
    const at = indexOfFrame(lane.clip.frames, bottomOf(lane.clip));
    const index = frameAt(lane.clip.times, (lane.clip.times[at] ?? 0) + this.offset);
    if (!lane.seeker) lane.index = index;
    lane.seeker?.to(timeInside(lane.clip.times, index));
  }

  private move(offset: number): void {
    this.offset = Math.min(Math.max(offset, -before), before);
    for (const lane of this.lanes) this.showLane(lane);
  }

  // Every clip by the same clock, so that none runs away from the others.
  private play(): void {
    if (this.playing) { this.playing = false; cancelAnimationFrame(this.timer); return; }
    this.playing = true;
    let last = performance.now();
    if (this.offset >= before - 0.05) this.offset = -before;
    const tick = (now: number) => {
      if (!this.playing) return;
      this.move(this.offset + ((now - last) / 1000) * 0.5);
      last = now;
      if (this.offset >= before) this.playing = false;
      else this.timer = requestAnimationFrame(tick);
    };
    this.timer = requestAnimationFrame(tick);
  }

  protected override view(): TemplateResult {
    if (this.chosen.length < 2) {
      return html`${head(t('compare_title'))}${emptyState({ title: t('compare_one'), words: t('compare_one_words'), step: button({ label: t('visit_film_more'), href: `${this.base}/film`, kind: 'first' }) })}${cautionsView(undefined)}`;
    }
    return html`${head(t('compare_title'), t('compare_lead'))}
      ${this.chooser()}
      <div class="lanes" ${look({ '--lanes': this.lanes.length })}>${this.lanes.map((lane) => this.lane(lane))}</div>
      <p class="small quiet">${t('compare_shown')}</p>
      <div class="row compare-clock">
        ${button({ label: this.playing ? t('player_pause') : t('player_play'), icon: icon(this.playing ? 'pause' : 'play'), iconOnly: true, act: () => this.play() })}
        <input class="scrub grow" type="range" min=${-before} max=${before} step="0.02" .value=${live(String(this.offset))} aria-label=${t('compare_clock')}
          aria-valuetext=${t('compare_from_bottom', { time: shownNumber(this.offset, 's', 2) })} @input=${(event: Event) => { this.playing = false; this.move(Number((event.target as HTMLInputElement).value)); }}>
        ${button({ label: t('compare_to_bottom'), icon: icon('bottom'), act: () => { this.playing = false; this.move(0); } })}
      </div>
      ${this.verdict()}${this.table()}
      ${this.compareFault ? errorView(this.compareFault, () => void this.loadComparisons()) : ''}
      ${cautionsView(Object.values(this.comparisons)[0]?.cautions ?? this.lanes[0]?.clip.assessment.cautions)}`;
  }

  private chooser(): TemplateResult | '' {
    if (this.measuredTrials.length < 3) return '';
    return html`<fieldset class="choice"><legend>${t('compare_which')}</legend><div class="stones">${this.measuredTrials.map((trial) => {
      const on = this.chosen.includes(trial.id);
      return html`<label><input type="checkbox" .checked=${live(on)} ?disabled=${!on && this.chosen.length >= 3} @change=${() => this.choose(trial.id)}><span>${trialName(trial, this.trials.indexOf(trial) + 1)}</span></label>`;
    })}</div></fieldset>`;
  }

  private choose(id: string): void {
    const next = this.chosen.includes(id) ? this.chosen.filter((one) => one !== id) : [...this.chosen, id];
    if (next.length < 2) { this.requestUpdate(); return; }
    this.chosen = next;
    void this.loadLanes();
  }

  private lane(lane: Lane): TemplateResult {
    const { clip } = lane;
    const trunk = clip.value('trunk_inclination', lane.index);
    const films = filmsOf(lane.trial);
    const setup = setupWords((lane.trial.document.setup ?? {}) as Setup);
    return html`<figure class="lane"><div class="screen tall" ${look({ '--ratio': clip.width / clip.height })}>
      <video src=${films[lane.film ?? 0]!} muted playsinline preload="auto" tabindex="-1" aria-label=${trialName(lane.trial, lane.number)}
        @loadeddata=${(event: Event) => this.laneReady(lane, event.target as HTMLVideoElement)} @error=${() => { if ((lane.film ?? 0) < films.length - 1) { lane.film = (lane.film ?? 0) + 1; this.requestUpdate(); } }}></video>
      <svg class="over on-picture" viewBox="0 0 ${clip.width} ${clip.height}" aria-hidden="true">${svg`${drawOverlay({ width: clip.width, height: clip.height,
        figure: clip.figure(lane.index), disc: clip.disc(lane.index), facing: clip.facing, roll: clip.roll, labels: false, label: () => '',
        angles: trunk ? { trunk: { ...trunk, byHand: false } } : {} })}`}</svg></div>
      <figcaption><strong>${trialName(lane.trial, lane.number)}</strong>${setup && setup !== lane.trial.document.name ? html`<span class="small quiet">${setup}</span>` : ''}
        <span>${wordFor('player_channel', 'trunk_inclination')} ${quantity({ value: trunk?.value ?? null, error: trunk?.error ?? null, unit: 'deg', size: 'large' })}</span></figcaption></figure>`;
  }

  // Which one kept the trunk highest, and is the difference real?
  private verdict(): TemplateResult | '' {
    const [, ...others] = this.chosen;
    const rows = others.map((b) => ({ b, trunk: this.comparisons[b]?.measures.find((one) => plain(one.measure) === 'trunk_inclination') })).filter((row) => row.trunk?.difference !== null && row.trunk !== undefined);
    if (rows.length === 0) return '';
    const name = (id: string) => { const at = this.trials.findIndex((trial) => trial.id === id); return trialName(this.trials[at]!, at + 1); };
    return html`<div class="sign real" role="status">${rows.map(({ b, trunk }) => {
      const size = quantityText(Math.abs(trunk!.difference!), 'deg', trunk!.error);
      if (!trunk!.real) return html`<strong>${t('compare_not_told_apart', { a: name(this.chosen[0]!), b: name(b), size })}</strong>`;
      const upright = (trunk!.b ?? 0) < (trunk!.a ?? 0) ? b : this.chosen[0]!;
      return html`<strong>${t('compare_more_upright', { who: name(upright), size })}</strong>`;
    })}</div>`;
  }

  private table(): TemplateResult {
    const [a, ...others] = this.chosen;
    const lead = others.map((b) => this.comparisons[b]).find((one) => one !== undefined);
    if (!lead) return html``;
    const name = (id: string) => { const at = this.trials.findIndex((trial) => trial.id === id); return trialName(this.trials[at]!, at + 1); };
    const order = [...lead.measures].sort((x, y) => rank(x.measure) - rank(y.measure));
    const unit = (one: Measure) => one.unit ?? (/_(cm|kg|s)$/.exec(one.measure)?.[1] ?? 'deg');
    return html`<div class="table-wrap" tabindex="0" role="region" aria-label=${t('compare_table')}><table class="table compare-table"><thead><tr><th scope="col">${t('compare_measure')}</th><th scope="col" class="num of-clip">${name(a!)}</th>
      ${others.map((b) => html`<th scope="col" class="num of-clip">${name(b)}</th><th scope="col" class="num">${t('compare_difference')}</th><th scope="col">${t('compare_verdict')}</th>`)}</tr></thead>
      <tbody>${order.map((one) => html`<tr><th scope="row">${wordFor('player_channel', plain(one.measure))}</th><td class="num of-clip">${quantity({ value: one.a, unit: unit(one), places: 1 })}</td>
        ${others.map((b) => {
          const row = this.comparisons[b]?.measures.find((other) => other.measure === one.measure);
          return html`<td class="num of-clip">${quantity({ value: row?.b, unit: unit(one), places: 1 })}</td><td class="num">${quantity({ value: row?.difference, error: row?.error ?? null, unit: unit(one), change: true, places: 1 })}</td>
            <td><span class=${row?.real ? 'real-mark' : 'same-mark'}>${row?.real ? t('compare_real') : t('compare_same')}</span></td>`;
        })}</tr>`)}</tbody></table></div>`;
  }
}

const plain = (measure: string): string => measure.replace(/_(deg|cm|kg|s)$/, '');
const rank = (measure: string): number => { const at = first.indexOf(plain(measure)); return at < 0 ? 99 : at; };

/** Frame of the bottom that is most like the others: the middle one by trunk inclination. */
function bottomOf(clip: Clip): number {
  const key = 'trunk_inclination_deg';
  const sorted = [...clip.repetitions].sort((a, b) => (a.channels[key]?.bottom.value ?? 0) - (b.channels[key]?.bottom.value ?? 0));
  return sorted[Math.floor((sorted.length - 1) / 2)]?.bottom.frame ?? clip.frames[0] ?? 0;
}
