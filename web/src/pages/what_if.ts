// What if: sliders move the setup and the ranges, the figure moves with them; the best changes; what to film next.
import { html, svg, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button, check } from '../parts/controls.js';
import { trunkText } from '../parts/history_words.js';
import { look } from '../parts/look.js';
import { coming, errorView } from '../parts/views.js';
import { quantity, quantityText } from '../parts/quantity.js';
import { settings, type Action } from '../shell/store.js';
import { fromShown, toShown } from '../units.js';
import { t, wordFor } from '../words/index.js';
import { cautionsView, head, nice, shownNumber, VisitPage } from './visit_base.js';
import { drawDisc, drawFigure, drawPlumbLine, type Figure, type Joint } from './visit_figure.js';
import { distance, round, text, type Point } from './visit_geometry.js';
import { figureOf } from './visit_model_figure.js';
import { setupOf, setupQuery } from './visit_setup.js';
import { Asker } from './what_if_asker.js';
import { changeText, explainWhatIf, leanAfter, type Lever, type Seen, type WhatIfAnswer as Answer } from './what_if_numbers.js';
import type { Change, Findings, SetupToFilm, WhatIfRow } from './visit_types.js';

interface Question { athlete: unknown; observed_deg?: number; observed_error_deg?: number; changes: { lever: string; to: number; unit: string }[] }
/** Athlete and lean as the findings of the visit take them. */
interface StartOfQuestions { question: Omit<Question, 'changes'>; seen: 'clip' | 'typed' | null }

const setupLevers = ['stance', 'toe_out', 'heel', 'grip', 'bar_mass', 'depth', 'surface'];
const usualSeat = 30; // [cm]
const view = { width: 520, height: 600, floor: 560 };

@customElement('page-what-if')
export class WhatIf extends VisitPage {
  @state() private answer: Answer | undefined;
  @state() private values: Record<string, number> = {};
  @state() private findings_: Findings | undefined;
  @state() private askFault: Fault | undefined;
  @state() private tableFault: Fault | undefined;
  private start!: Omit<Question, 'changes'>;
  private seen: Seen = { from: 'model' };
  /** Milliseconds from a move of a slider to the figure on the screen; read by tests. */
  readonly answerTimes: number[] = [];
  private readonly movedAt = new WeakMap<Question, number>();
  private readonly asker = new Asker<Question, Answer>(
    (question, signal) => api.post<Answer>('/questions/what-if', question, { signal }).then((answer) => answer.data),
    (answer, question) => this.show(answer, question),
    (error) => { this.askFault = Fault.of(error); },
  );

  protected override heading(): string { return t('what_if_title'); }

  protected override async load(): Promise<void> {
    await super.load();
    const signal = this.leaving.signal;
    const { question, seen } = (await api.get<StartOfQuestions>(`/visits/${this.visitId}/question`, { signal })).data;
    this.start = question;
    const typed = this.visit.document.trunk;
    this.seen = seen === 'clip' ? { from: 'clip' } : typed && seen === 'typed' ? { from: 'typed', trunk: trunkText(typed) } : { from: 'model' };
    this.answer = (await api.post<Answer>('/questions/what-if', this.question(), { signal })).data;
    void this.loadTable();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.asker.stop();
  }

  private async loadTable(): Promise<void> {
    try {
      this.findings_ = await this.findings();
      this.settle();
    } catch (error) {
      if (!(error instanceof DOMException)) this.tableFault = Fault.of(error);
    }
  }

  private question(): Question {
    const changes = Object.entries(this.values).map(([lever, to]) => ({ lever, to, unit: this.lever(lever)?.unit ?? 'cm' }));
    return { ...this.start, changes };
  }

  private lever(name: string): Lever | undefined {
    return this.answer?.levers.find((lever) => lever.lever === name);
  }

  private show(answer: Answer, question: Question): void {
    this.askFault = undefined;
    this.answer = answer;
    const from = this.movedAt.get(question) ?? performance.now();
    void this.updateComplete.then(() => {
      this.answerTimes.push(performance.now() - from);
      if (this.answerTimes.length > 1000) this.answerTimes.shift();
    });
  }

  private move(lever: string, to: number | undefined): void {
    const next = { ...this.values };
    if (to === undefined) delete next[lever];
    else next[lever] = to;
    this.moveAll(next);
  }

  private moveAll(values: Record<string, number>): void {
    this.values = values;
    const question = this.question();
    this.movedAt.set(question, performance.now());
    this.asker.put(question);
    this.settle();
  }

  /** The changes of a row of the table on the sliders. */
  private take(changes: readonly Change[]): void {
    const values: Record<string, number> = {};
    for (const change of changes) {
      const unit = this.lever(change.lever)?.unit;
      const to = unit ? change[`to_${unit}`] : undefined;
      if (typeof to === 'number') values[change.lever] = to;
    }
    this.moveAll(values);
    this.querySelector('.what-if-picture')?.scrollIntoView({ block: 'nearest' });
  }

  protected override actions(): Action[] {
    const setup = setupOf(Object.entries(this.values).map(([lever, to]) => ({ lever, to })));
    const actions: Action[] = [];
    if (Object.keys(setup).length > 0) actions.push({ label: t('what_if_film_this'), href: `${this.base}/film?setup=${encodeURIComponent(setupQuery(setup))}`, first: true });
    actions.push({ label: t('visit_do_plan'), href: `${this.base}/plan`, first: actions.length === 0 });
    actions.push({ label: t('visit_do_why'), href: `${this.base}/why` });
    return actions;
  }

  protected override view(): TemplateResult {
    const answer = this.answer!;
    const changed = Object.keys(this.values).length > 0;
    return html`${head(t('what_if_title'), t('what_if_lead'))}
      ${this.signs()}
      <div class="what-if">
        <div class="what-if-left">${this.picture(answer, changed)}${this.result(answer, changed)}</div>
        <div class="sliders">${this.sliders(answer, changed)}</div>
      </div>
      ${this.askFault ? errorView(this.askFault) : ''}
      ${this.best()}
      ${this.filmNext()}
      ${cautionsView(answer.cautions)}`;
  }

  private picture(answer: Answer, changed: boolean): TemplateResult {
    const bodies = [figureOf(answer.today), figureOf(answer.after)];
    const all = bodies.flatMap((body) => Object.values(body));
    const highest = Math.max(...all.map((p) => p[1])) + (answer.today.disc_radius_m ?? 0);
    const scale = Math.min((view.floor - 30) / Math.max(highest, 1), 330);
    const middle = 0.5 * (Math.min(...all.map((p) => p[0])) + Math.max(...all.map((p) => p[0])));
    const place = (body: Figure): Figure => Object.fromEntries(Object.entries(body)
      .map(([name, p]) => [name, [view.width / 2 + (p[0] - middle) * scale, view.floor - p[1] * scale] as Point]));
    const [today, after] = bodies.map(place) as [Figure, Figure];
    const words = t('what_if_picture', { today: quantityText(answer.today.trunk_deg, 'deg', answer.today_trunk_error_deg), after: quantityText(answer.after.trunk_deg, 'deg', answer.after_trunk_error_deg) });
    const foot: Point = [view.width / 2 - middle * scale, view.floor];
    const radius = (answer.after.disc_radius_m ?? 0) * scale;
    return html`<figure class="what-if-picture"><svg viewBox="0 0 ${view.width} ${view.height}" role="img" aria-label=${words}>${svg`
      <path class="floor-line" d="M20 ${view.floor + 4}H${view.width - 20}"/>
      ${this.heel(after)}
      ${changed ? drawFigure(today, { unit: 1, ghost: true, headRadius: headOf(today) }) : ''}
      ${radius > 0 && after.bar ? drawDisc({ at: after.bar, rx: radius, ry: radius, turned_deg: 0 }, 1) : ''}
      ${drawFigure(after, { unit: 1, headRadius: headOf(after) })}
      ${drawPlumbLine(foot, view.floor - 24, 0, 1)}`}</svg></figure>`;
  }

  // A raised heel stands on something.
  private heel(figure: Figure) {
    const { heel, toe } = figure;
    if (!heel || !toe || view.floor - heel[1] < 3) return '';
    const top: Point = [heel[0] - 8, heel[1]];
    return svg`<path class="wedge" d="M${text(top)}L${text(heel)}L${round(heel[0] + 0.45 * (toe[0] - heel[0]))} ${view.floor}L${round(top[0])} ${view.floor}Z"/>`;
  }

  private result(answer: Answer, changed: boolean): TemplateResult {
    const { value, nearest } = leanAfter(answer);
    return html`<div class="what-if-result"><button class="what-if-number" title=${t('what_if_how')} @click=${() => void explainWhatIf(this.answer!, Object.keys(this.values).length > 0, this.seen)}>
        ${quantity({ value, error: answer.after_trunk_error_deg, unit: 'deg', size: 'huge' })}<span class="for-ears">${t('what_if_trunk')}. ${t('what_if_how')}</span></button>
      <div role="status"><p class="strong">${changed ? changeText(answer) : this.seen.from === 'model' ? t('what_if_today') : t('what_if_seen')}</p>
      <p class="small quiet">${t('what_if_trunk')}</p>
      ${answer.possible ? nearest ? html`<p class="small">${t('what_if_nearest')}</p>` : '' : html`<p class="fault-line">${t('what_if_impossible')}</p>`}
      ${answer.costs.map((cost) => html`<p class="small">${nice(cost.text)}</p>`)}</div></div>`;
  }

  private sliders(answer: Answer, changed: boolean): TemplateResult {
    // A seat that is not there today is another exercise: no slider until it is switched on.
    const setup = answer.levers.filter((lever) => setupLevers.includes(lever.lever) && lever.now >= lever.low);
    const ranges = answer.levers.filter((lever) => !setupLevers.includes(lever.lever));
    return html`<h2>${t('what_if_setup')}</h2>${setup.map((lever) => this.slider(lever))}${this.seat(answer)}
      ${ranges.length > 0 ? html`<h2>${t('what_if_ranges')}</h2>${ranges.map((lever) => this.slider(lever))}` : ''}
      <div>${button({ label: t('what_if_back_to_today'), disabled: !changed, act: () => this.moveAll({}) })}</div>`;
  }

  private seat(answer: Answer): TemplateResult | '' {
    const lever = answer.levers.find((one) => one.lever === 'surface');
    if (!lever || lever.now >= lever.low) return '';
    // As high as one sits at today's depth, where the table has told it already.
    const told = this.findings_?.explanation?.what_if?.single.find((row) => row.changes[0]?.lever === 'surface')?.changes[0]?.['to_cm'];
    const start = typeof told === 'number' ? Math.round(2 * told) / 2 : usualSeat;
    return html`<div class="seat-switch">${check({ id: 'what-if-seat', label: t('what_if_seat'), checked: this.values['surface'] !== undefined, change: (on) => this.move('surface', on ? start : undefined) })}
      <p class="small quiet">${t('what_if_seat_words')}</p></div>
      ${this.values['surface'] !== undefined ? this.slider(lever) : ''}`;
  }

  private slider(lever: Lever): TemplateResult {
    const system = settings.value.units;
    const value = this.values[lever.lever] ?? lever.now;
    const shown = (v: number) => Number(toShown(v, lever.unit, system).toFixed(2));
    const step = lever.unit === 'deg' || lever.unit === 'kg' ? 1 : 0.5;
    const share = (v: number) => (lever.high > lever.low ? (v - lever.low) / (lever.high - lever.low) : 0);
    const words = wordFor('lever', lever.lever);
    const set = (event: Event) => {
      const number = fromShown(Number((event.target as HTMLInputElement).value), lever.unit, system);
      this.move(lever.lever, Math.abs(number - lever.now) < step / 4 ? undefined : number);
    };
    const touched = this.values[lever.lever] !== undefined;
    const there = lever.now >= lever.low;
    return html`<div class=${touched ? 'slider touched' : 'slider'}>
      <label for="s-${lever.lever}">${words}</label><output>${quantityText(value, lever.unit, null, lever.unit === 'deg' ? 0 : 1)}</output>
      <div class="track">${there ? html`<span class="now-mark" aria-hidden="true" ${look({ '--at': share(lever.now) })}></span>` : ''}
      <input id="s-${lever.lever}" type="range" min=${shown(lever.low)} max=${shown(lever.high)} step=${step} .value=${live(String(shown(value)))}
        aria-valuetext=${!there ? quantityText(value, lever.unit, null, 1) : t('what_if_slider', { value: quantityText(value, lever.unit, null, lever.unit === 'deg' ? 0 : 1), now: quantityText(lever.now, lever.unit, null, lever.unit === 'deg' ? 0 : 1) })} @input=${set}></div></div>`;
  }

  private best(): TemplateResult {
    const table = this.findings_?.explanation?.what_if;
    if (this.tableFault) return errorView(this.tableFault, () => { this.tableFault = undefined; void this.loadTable(); });
    if (!this.findings_) return coming(t('what_if_table_coming'));
    if (!table) return html``;
    const setup = table.single.filter((row) => row.changes.every((change) => ['stance', 'toe_out', 'heel', 'grip'].includes(change.lever)));
    const single = [...setup].sort((a, b) => a.trunk_change_deg.value - b.trunk_change_deg.value)[0];
    const rows = ([[t('what_if_single'), single], [t('what_if_pair'), table.best_pair], [t('what_if_triple'), table.best_triple]] as const)
      .filter((row): row is readonly [string, WhatIfRow] => Boolean(row[1]));
    return html`<section class="course" aria-labelledby="best"><header><h2 id="best">${t('what_if_best')}</h2></header>
      <div class="best-row-of">${rows.map(([name, row]) => html`<div class="stone best-row"><h3>${name}</h3>
        ${quantity({ value: row.trunk_change_deg.value, error: row.trunk_change_deg.standard_error, unit: 'deg', size: 'large', change: true })}
        ${isOpen(row) ? html`<p class="small">${t('what_if_row_open')}</p>` : ''}
        <ul>${row.changes.map((change) => html`<li>${changeWords(change)}</li>`)}</ul>
        ${row.costs.map((cost) => html`<p class="small quiet">${nice(cost.text)}</p>`)}
        ${button({ label: t('what_if_see'), act: () => this.take(row.changes) })}</div>`)}</div></section>`;
  }

  private filmNext(): TemplateResult {
    const setups = this.findings_?.setups_to_film ?? [];
    if (setups.length === 0) return html``;
    return html`<section class="course" aria-labelledby="film-next"><header><h2 id="film-next">${t('what_if_film_next')}</h2></header>
      <ol class="stack gap-2">${setups.map((setup, i) => this.setupToFilm(setup, i))}</ol></section>`;
  }

  private setupToFilm(setup: SetupToFilm, i: number): TemplateResult {
    return html`<li class="film-next"><div class="grow"><h3>${i + 1}. ${nice(setup.how)}</h3><p>${nice(setup.why)}</p><p class="small quiet">${nice(setup.shows)}</p>
      ${setup.costs.map((cost) => html`<p class="small quiet">${nice(cost.text)}</p>`)}</div>
      ${button({ label: t('what_if_film_it'), href: `${this.base}/film?setup=${encodeURIComponent(setupQuery(setupOf(setup.changes)))}` })}
      ${button({ label: t('what_if_see'), act: () => this.take(setup.changes) })}</li>`;
  }
}

/** Within what cannot be told from no change (as the server says it of the sliders' answer). */
const isOpen = ({ trunk_change_deg: { value, standard_error: error } }: WhatIfRow): boolean => Math.abs(value) <= 1.96 * error;

/** "Heel height 0 → 1.3 cm". */
export function changeWords(change: Change): string {
  const key = Object.keys(change).find((name) => name.startsWith('to_'));
  const unit = key?.slice(3) ?? 'cm';
  const [from, to] = [change[`from_${unit}`], change[`to_${unit}`]];
  const places = unit === 'deg' ? 0 : 1;
  const shownTo = typeof to === 'number' ? quantityText(to, unit, null, places) : '';
  const shownFrom = typeof from === 'number' ? `${shownNumber(from, unit, places)} → ` : '';
  return `${wordFor('lever', change.lever)} ${shownFrom}${shownTo}`;
}

function headOf(figure: Figure): number {
  const { hip, shoulder } = figure as Partial<Record<Joint, Point>>;
  return hip && shoulder ? 0.17 * distance(hip, shoulder) : 30;
}

