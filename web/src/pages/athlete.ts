// One athlete: warning signs first, then the trunk over time, the tests over time, the visits.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { address, api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import type { CaseloadRow, Intake, List, RecordOf, TimelineItem, Trends, TrendSeries, Visit } from '../api/types.js';
import { ask, askLine, openDialog } from '../parts/dialog.js';
import { button } from '../parts/controls.js';
import { icons } from '../parts/icons.js';
import { protocolName } from '../parts/library_names.js';
import '../parts/plumb.js';
import { quantity, quantityText } from '../parts/quantity.js';
import type { TrendLine } from '../parts/trend.js';
import { cautionsView, emptyState, errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { go } from '../shell/router.js';
import { may, say, type Frame } from '../shell/store.js';
import { historyOf } from './history_place.js';
import { courseOf, differenceWords, firstOfNewestDay, lineOf, trunkCourses } from './trunk_course.js';
import { age, day, daysFromNow, plural, t, today, wordFor } from '../words/index.js';

/** Both sides of one test, or one measure of the clips. */
export interface Measure { name: string; label: string; unit: string; series: TrendSeries[] }

export function measuresOf(series: TrendSeries[], kind: 'test' | 'measure'): Measure[] {
  const found = new Map<string, Measure>();
  for (const one of series.filter((s) => s.kind === kind && s.points.length)) {
    const measure = found.get(one.name) ?? { name: one.name, label: kind === 'test' ? protocolName({ id: one.name, name: one.label }) : wordFor('player_channel', one.name, one.label), unit: one.unit, series: [] };
    measure.series.push(one);
    found.set(one.name, measure);
  }
  // What was repeated comes first: there is something to see.
  const repeated = (measure: Measure) => (measure.series.some((one) => one.points.length > 1) ? 0 : 1);
  return [...found.values()].sort((a, b) => repeated(a) - repeated(b));
}

// A change of the trunk in colour and in words.
const leanLook: Partial<Record<TrendSeries['verdict'], string>> = { improved: 'lapis strong', worse: 'rust strong' };
const leanWords: Partial<Record<TrendSeries['verdict'], 'change_less_lean' | 'change_more_lean'>> = { improved: 'change_less_lean', worse: 'change_more_lean' };

@customElement('page-athlete')
export class AthletePage extends Page {
  @state() private athlete: RecordOf<Intake> | undefined;
  @state() private trends: Trends | undefined;
  @state() private timeline: TimelineItem[] = [];
  /** Names of the clips of visits that have several. */
  @state() private clipNames: Record<string, string> = {};
  @state() private refused: Fault | undefined;
  /** An assistant sees the name and the own visits, nothing else. */
  private knownName = '';
  private readonly whole = may('read_records');

  private get who(): string { return this.params['athlete']!; }
  private get name(): string { return this.athlete?.document.athlete.name ?? this.knownName; }
  private get visitToday(): TimelineItem | undefined { return this.timeline.find((one) => one.kind === 'visit' && one.date === today()); }

  protected override async load(): Promise<void> {
    const signal = this.leaving.signal;
    if (!this.whole) return this.loadVisits();
    const [athlete, trends, timeline] = await Promise.all([
      api.get<RecordOf<Intake>>(`/athletes/${this.who}`, { signal }),
      api.get<Trends>(`/athletes/${this.who}/trends`, { signal }),
      api.get<List<TimelineItem>>(`/athletes/${this.who}/timeline`, { signal }),
      import('../parts/trend.js'),
    ]);
    [this.athlete, this.trends, this.timeline] = [athlete.data, trends.data, timeline.data.items];
    void this.loadClipNames();
  }

  // One clip of a visit is "Clip"; several are told apart by their names, which come after the first picture.
  private async loadClipNames(): Promise<void> {
    const visits = this.timeline.filter((one) => one.kind === 'visit' && this.timeline.filter((other) => other.kind === 'trial' && other.parent === one.record).length > 1);
    const lists = await Promise.all(visits.map((visit) => api.all<RecordOf<{ name?: string }>>(`/visits/${visit.record}/trials`, { signal: this.leaving.signal }).catch(() => [])));
    this.clipNames = Object.fromEntries(lists.flatMap((list) => list.sort((a, b) => a.created_at.localeCompare(b.created_at))
      .map((one, i) => [one.id, one.document.name || t('visit_trial_n', { n: i + 1 })])));
  }

  private async loadVisits(): Promise<void> {
    const { signal } = this.leaving;
    const visits = await api.all<RecordOf<Visit>>(`/athletes/${this.who}/visits`, { signal });
    this.timeline = visits.map((one) => ({ record: one.id, kind: 'visit', date: one.document.date, state: one.state, version: one.version, created_by: one.created_by, changed_at: one.changed_at }));
    this.knownName = (await api.all<CaseloadRow>('/athletes', { signal })).find((one) => one.athlete === this.who)?.name ?? '';
  }

  protected override around(): Partial<Frame> {
    const next: Frame['next'] = [];
    const write = may('write_records');
    const visit = this.visitToday;
    if (visit) next.push({ label: t('go_on_visit'), href: `/visits/${visit.record}`, first: true, icon: icons.onwards });
    else if (write || may('enter_tests')) next.push({ label: t('begin_visit'), act: () => void this.beginVisit(), first: true, icon: icons.add });
    if (this.whole) next.push({ label: t('todays_page'), href: `/athletes/${this.who}/today`, icon: icons.drills });
    if (write) next.push({ label: t('body_and_history'), href: `/athletes/${this.who}/body`, icon: icons.person });
    if (this.whole) next.push({ label: t('versions'), href: historyOf(this.who), icon: icons.history });
    if (may('take_out')) next.push({ label: t('take_out'), act: () => void this.takeOut(), icon: icons.take_out });
    if (write) next.push({ label: t('archive'), act: () => void this.archive() });
    if (may('erase')) next.push({ label: t('erase'), act: () => void this.erase() });
    return { place: [{ label: t('caseload'), href: '/' }, { label: this.name || t('coming') }], next: this.ready ? next : [], athlete: { id: this.who, name: this.name } };
  }

  private async attempt(work: () => Promise<void>): Promise<void> {
    this.refused = undefined;
    try {
      await work();
    } catch (error) {
      this.refused = Fault.of(error);
      scrollTo(0, 0);
    }
  }
  private beginVisit(): Promise<void> {
    return this.attempt(async () => {
      const purpose = this.timeline.some((one) => one.kind === 'visit') ? t('purpose_retest') : t('purpose_first');
      const { data } = await api.post<RecordOf<Visit>>(`/athletes/${this.who}/visits`, { date: today(), purpose });
      await go(`/visits/${data.id}`);
    });
  }
  private async archive(): Promise<void> {
    if (!await ask({ title: t('archive_sure', { name: this.name }), words: t('archive_words'), yes: t('archive') })) return;
    await this.attempt(async () => {
      await api.post(`/athletes/${this.who}/archive`, undefined, { version: this.athlete!.version });
      say(t('archived_now'));
      await go('/');
    });
  }
  private async erase(): Promise<void> {
    const reason = await askLine({ title: t('erase_sure', { name: this.name }), words: t('erase_words'), label: t('reason'), yes: t('erase'), harm: true });
    if (!reason) return;
    await this.attempt(async () => {
      await api.post(`/athletes/${this.who}/erase`, { reason });
      say(t('erased'));
      await go('/');
    });
  }
  private takeOut(): Promise<unknown> {
    const link = (label: string, path: string) => button({ label, href: address(`/athletes/${this.who}/${path}`), download: '', icon: icons.take_out, wide: true });
    return openDialog(t('take_out'), (close) => html`<div class="stack">${link(t('download_bundle'), 'export')}${link(t('download_fhir'), 'fhir')}
      ${link(t('download_calendar'), 'calendar.ics')}<div class="row end">${button({ label: t('close'), act: () => close() })}</div></div>`);
  }

  private facts(): TemplateResult {
    const intake = this.athlete!.document;
    const { body } = intake.athlete;
    const years = intake.birth_date ? age(intake.birth_date) : undefined;
    return html`<p class="facts">${years === undefined ? nothing : html`<span><b>${plural('years', years)}</b></span>`}
      ${body.stature_cm ? html`<span><b>${quantityText(body.stature_cm, 'cm', undefined, 0)}</b></span>` : nothing}
      ${body.mass_kg ? html`<span><b>${quantityText(body.mass_kg, 'kg', undefined, 0)}</b></span>` : nothing}
      ${intake.goal?.lift ? html`<span><b>${wordFor('lift', intake.goal.lift)}</b></span>` : nothing}
      ${(intake.tags ?? []).map((tag) => html`<span class="tag">${tag}</span>`)}</p>`;
  }

  private warnings(): TemplateResult | typeof nothing {
    const signs = this.athlete!.document.athlete.warning_signs ?? [];
    if (signs.length === 0) return nothing;
    return html`<section class="sign" aria-labelledby="signs"><h2 id="signs">${t('warning_signs')}</h2><p>${t('warning_words')}</p>
      <ul class="stack gap-1">${signs.map((sign) => html`<li><strong>${wordFor('sign', sign)}.</strong> ${t('see')} ${wordFor('whom', sign)}.</li>`)}</ul></section>`;
  }

  private lines(measure: Measure): TrendLine[] {
    return measure.series.map((one) => ({ side: one.side === 'both' ? '' : one.side ?? '', points: one.points }));
  }

  private forecastWords(series: TrendSeries): string {
    const goal = series.target;
    if (goal === null || series.forecast.length < 2) return t('forecast_open');
    const better = (value: number) => (series.better === 'higher' ? value >= goal : value <= goal);
    const half = series.forecast.find((point) => better(point.value));
    const late = series.forecast.find((point) => better(series.better === 'higher' ? point.low : point.high));
    if (!half) return t('forecast_not_yet', { day: day(series.forecast.at(-1)!.date) });
    return late ? t('forecast_words', { day: day(half.date), late: day(late.date) }) : t('forecast_half', { day: day(half.date) });
  }

  private trunk(): TemplateResult {
    const { lead, others } = trunkCourses(this.trends!.series);
    if (!lead) return emptyState({ title: t('no_trend'), words: t('no_trend_words') });
    // The first of the newest day: what was tried after it stands in the chart only.
    const last = firstOfNewestDay(lead);
    const goal = this.athlete!.document.goal;
    const target = lead.target ?? goal?.trunk_deg;
    const date = lead.target_date ?? goal?.date;
    return html`<section class="course" aria-labelledby="trunk"><header><h2 id="trunk">${t('trunk_over_time')}</h2><span class="quiet small">${t('trunk_at_bottom')}, ${courseOf(lead)}</span></header>
      <div class="lead-measure"><div class="now"><lt-plumb mute .deg=${last.value} .error=${last.error}></lt-plumb><div class="stack gap-1">
          ${quantity({ value: last.value, error: last.error, unit: 'deg', size: 'huge' })}<p class="quiet small">${day(last.date)}${last.method ? `, ${wordFor('trunk_method', last.method)}` : ''}</p>
          ${this.leanChange(lead)}
          ${target !== undefined && target !== null ? html`<p class="small">${date ? t('to_goal', { angle: quantityText(target, 'deg'), day: day(date) }) : t('goal_no_date', { angle: quantityText(target, 'deg') })}</p>` : nothing}</div></div>
        <div><lt-trend .name=${t('trunk_over_time')} unit="deg" .lines=${[lineOf(lead)]} .detectable=${lead.detectable_change ?? undefined} .goal=${target ?? undefined}
          .forecast=${lead.forecast.length > 1 ? { points: lead.forecast } : undefined} .height=${250} .open=${(record: string) => this.placeOf(record)}></lt-trend>
          ${lead.detectable_change ? html`<p class="quiet small">${t('detectable', { amount: quantityText(lead.detectable_change, 'deg') })}</p>` : nothing}
          ${lead.change !== null && target !== undefined && target !== null ? html`<p class="quiet small">${this.forecastWords(lead)}</p>` : nothing}</div></div>
      ${others.length === 0 ? nothing : html`${others.some((one) => one.source === 'clip') ? html`<p class="quiet small">${t('course_like')}</p>` : nothing}<div class="measures">${others.map((one) => this.otherCourse(one))}</div>`}</section>`;
  }

  private leanChange(series: TrendSeries): TemplateResult | typeof nothing {
    if (series.change === null) return nothing;
    return html`<p><span class=${leanLook[series.verdict] ?? 'quiet'}>${quantity({ value: series.change, unit: 'deg', change: true })} ${t(leanWords[series.verdict] ?? 'change_noise')}</span></p>`;
  }

  /** Clips in one other setup, or what was typed in: with a change of its own. */
  private otherCourse(series: TrendSeries): TemplateResult {
    const last = firstOfNewestDay(series);
    const typed = series.source === 'typed';
    const name = typed ? t('course_typed') : t('course_setup', { setup: differenceWords(series.setup) });
    return html`<section><h3>${name}<span>${quantity({ value: last.value, error: last.error, unit: 'deg' })}</span></h3>
      ${typed ? html`<p class="quiet small">${t('course_typed_words')}</p>` : nothing}${this.leanChange(series)}
      ${series.points.length > 1 || typed ? html`<lt-trend .name=${name} unit="deg" .lines=${[lineOf(series)]} .detectable=${series.detectable_change ?? undefined} .height=${170}
        .open=${(record: string) => this.placeOf(record)}></lt-trend>` : html`<p class="quiet small">${t('course_one_day', { day: day(last.date) })}</p>`}</section>`;
  }

  private test(measure: Measure): TemplateResult {
    const first = measure.series[0]!;
    return html`<section><h3>${measure.label}<span class="row gap-1">${measure.series.map((one) => {
      const last = one.points[one.points.length - 1]!;
      return html`<span>${one.side === 'left' || one.side === 'right' ? html`<span class="quiet small">${t(one.side)}</span> ` : nothing}${quantity({ value: last.value, error: last.error, unit: one.unit })}</span>`;
    })}</span></h3>
      ${first.points.length > 1 ? html`<lt-trend .name=${measure.label} .unit=${measure.unit} .lines=${this.lines(measure)} .detectable=${first.detectable_change ?? undefined} .goal=${first.target ?? undefined}
        .forecast=${measure.series.length === 1 && first.forecast.length > 1 ? { points: first.forecast } : undefined} .height=${170} .open=${(record: string) => this.placeOf(record)}></lt-trend>`
      : html`<p class="quiet small">${t('change_first')}, ${day(first.points[0]!.date)}</p>`}</section>`;
  }

  private placeOf(record: string): string {
    const item = this.timeline.find((one) => one.record === record);
    if (item?.kind === 'visit') return `/visits/${record}`;
    if (item?.kind === 'trial' && item.parent) return `/visits/${item.parent}/film/${record}`;
    return item?.parent ? `/visits/${item.parent}` : `/athletes/${this.who}`;
  }

  private visits(): TemplateResult {
    const visits = this.timeline.filter((one) => one.kind === 'visit');
    if (visits.length === 0) return emptyState({ title: t('no_visits'), words: t('no_visits_words'), step: may('enter_tests') ? button({ label: t('begin_visit'), act: () => void this.beginVisit() }) : html`` });
    const links: Record<string, (one: TimelineItem, visit: string) => string> = {
      trial: (one, visit) => `/visits/${visit}/film/${one.record}`, test_record: (_one, visit) => `/visits/${visit}/tests`,
      plan: (_one, visit) => `/visits/${visit}/plan`, overrulings: (_one, visit) => `/visits/${visit}/why`,
    };
    const sessions = this.timeline.filter((one) => one.kind === 'session_log');
    return html`<ol class="timeline">${visits.map((visit, i) => {
      const of = this.timeline.filter((one) => one.parent === visit.record);
      const until = visits[i - 1]?.date ?? '9999';
      const logged = sessions.filter((one) => one.date >= visit.date && one.date < until).length;
      return html`${logged ? html`<li class="quiet small">${plural('sessions_logged', logged)}</li>` : nothing}
        <li class="visit"><a class="what" href="/visits/${visit.record}">${day(visit.date)}</a> <span class="quiet small">${daysFromNow(visit.date)}</span>
        <ul>${of.map((one) => html`<li><a href=${links[one.kind]?.(one, visit.record) ?? `/visits/${visit.record}`}>${this.clipNames[one.record] ?? wordFor('kind', one.kind)}</a></li>`)}</ul></li>`;
    })}</ol>`;
  }

  protected override view(): TemplateResult {
    if (!this.whole) return html`<div class="stack gap-4"><div class="page-head hang"><h1>${this.name}</h1></div>${this.refused ? errorView(this.refused) : nothing}<section class="course"><h2>${t('visits')}</h2>${this.visits()}</section></div>`;
    const intake = this.athlete!.document;
    const tests = measuresOf(this.trends!.series, 'test');
    return html`<div class="stack gap-4"><div class="page-head hang"><h1>${this.name}</h1>${this.facts()}</div>
      ${this.refused ? errorView(this.refused) : nothing}
      ${this.warnings()}${this.trunk()}
      ${tests.length ? html`<section class="course" aria-labelledby="tests"><h2 id="tests">${t('tests_over_time')}</h2><div class="measures">${tests.map((one) => this.test(one))}</div></section>` : nothing}
      <div class="two"><section class="course" aria-labelledby="visits"><h2 id="visits">${t('visits')}</h2>${this.visits()}</section>
      <section class="course" aria-labelledby="history"><h2 id="history">${t('history')}</h2>
        ${intake.goal?.words ? html`<p>“${intake.goal.words}”</p>` : nothing}
        <p>${intake.history || html`<span class="quiet">${t('none')}</span>`}</p>
        <dl class="terms"><dt>${t('warning_signs')}</dt><dd>${(intake.athlete.warning_signs ?? []).map((sign) => wordFor('sign', sign)).join(', ') || t('no_warning_signs')}</dd>
          <dt>${t('consent')}</dt><dd>${intake.consent?.given ? t('consent_on', { day: day(intake.consent.date) }) : t('consent_missing')}</dd>
          ${intake.sport ? html`<dt>${t('sport')}</dt><dd>${intake.sport}</dd>` : nothing}
          ${intake.equipment?.length ? html`<dt>${t('equipment')}</dt><dd>${intake.equipment.map((one) => wordFor('equipment', one)).join(', ')}</dd>` : nothing}
          ${intake.notes ? html`<dt>${t('notes')}</dt><dd>${intake.notes}</dd>` : nothing}</dl></section></div>
      ${cautionsView(this.trends!.cautions)}</div>`;
  }
}
