// The athlete's page on the phone: today's drills, one after the other; pain and effort; the rules to stop. Works without
// a connection: what is written down waits on the phone.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { sendOrKeep, waitingAt } from '../api/queue.js';
import { drillInWords, loadDrillWords } from '../parts/drill_words.js';
import { button, check } from '../parts/controls.js';
import { emptyState, errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { may, say, session, type Frame } from '../shell/store.js';
import { currentLanguage, day, daysFromNow, sentence, t, today, wordFor } from '../words/index.js';
import { cautionsView } from './visit_base.js';
import { doseWords, showDrill } from './plan_drill.js';
import { icon } from './visit_icons.js';
import type { Caution } from './visit_types.js';

interface TodayItem { drill: string; name: string; sets: number; repetitions: number; hold_s: number; step: number; step_name: string; step_how: string; move_on: string;
  minutes: number; loaded: boolean; reason: string; cues: string[]; cautions: string[]; done: boolean; logged: Logged | null }
interface Today { athlete: { id: string; name: string }; date: string; plan: string | null; week: number | null; deload: boolean; rest: boolean; clearance: string; stopped: boolean;
  message: string; referral: string; minutes: number; items: TodayItem[]; next_session: string | null; stop_rules: string[]; next_retest: { test: string; label: string; date: string } | null;
  sessions_done: number; cautions: Caution[] }
interface Logged { drill: string; step?: number; sets: number; repetitions?: number; hold_s?: number; effort?: number; pain_during?: number; stop_sign?: string }

const stopSigns = ['sharp_pain', 'numbness', 'dizziness', 'chest_pain'] as const;
const painStops = 6; // of 10, above the limit of 5: the server's rule, so that it also holds without a connection

@customElement('page-today')
export class TodayPage extends Page {
  @state() private today_: Today | undefined;
  @state() private done: Record<string, Logged> = {};
  @state() private open = '';
  @state() private stopWords = '';
  @state() private logFault: Fault | undefined;
  @state() private feeling: Partial<Logged> = {};
  private athlete = '';
  private writing = false;

  private get logPath(): string { return `/athletes/${this.athlete}/log`; }
  private get own(): boolean { return session.value?.role === 'athlete'; }

  protected override async load(): Promise<void> {
    const signal = this.leaving.signal;
    this.athlete = this.params['athlete'] ?? (await api.get<{ athlete: string }>('/me/athlete', { signal })).data.athlete;
    const [{ data }] = await Promise.all([api.get<Today>(`/athletes/${this.athlete}/today`, { signal, query: { date: today() } }), loadDrillWords()]);
    this.today_ = { ...data, items: data.items.map((item) => drillInWords(item.drill, item)) };
    this.done = Object.fromEntries(this.today_.items.filter((item) => item.done).map((item) => [item.drill, item.logged ?? { drill: item.drill, sets: item.sets }]));
    // What was written here and waits to be sent is written, too.
    for (const one of await waitingAt(this.logPath)) {
      const log = one.body as { date: string; drills: Logged[] };
      if (log.date === data.date) for (const logged of log.drills) this.done[logged.drill] = logged;
    }
    // What stopped the session today still does after a reload.
    const logged = Object.values(this.done);
    this.stopWords = logged.some((one) => one.stop_sign) ? t('today_stop_sign') : logged.some((one) => (one.pain_during ?? 0) >= painStops) ? t('today_stop_pain') : '';
    const next = this.today_.items.find((item) => !this.done[item.drill]);
    this.open = next?.drill ?? '';
  }

  protected override around(): Partial<Frame> {
    const place = this.own || !this.today_ ? [{ label: t('today_title') }]
      : [{ label: this.today_.athlete.name, href: `/athletes/${this.athlete}` }, { label: t('today_title') }];
    return { place, ...(this.today_ && !this.own ? { athlete: { id: this.athlete, name: this.today_.athlete.name } } : {}) };
  }

  private get stopped(): boolean { return this.today_!.stopped || this.stopWords !== ''; }

  private async write(item: TodayItem, part: Partial<Logged>): Promise<void> {
    const logged: Logged = { drill: item.drill, step: item.step, sets: item.sets, ...(item.repetitions > 0 ? { repetitions: item.repetitions } : {}),
      ...(item.hold_s > 0 ? { hold_s: item.hold_s } : {}), ...part };
    const pain = logged.pain_during ?? 0;
    if (logged.stop_sign || pain >= painStops) this.stopWords = logged.stop_sign ? t('today_stop_sign') : t('today_stop_pain');
    if (this.writing) return;
    this.writing = true;
    this.logFault = undefined;
    try {
      const body = { schema: 'lintel-log-1', date: this.today_!.date, drills: [logged] };
      const outcome = await sendOrKeep<{ stop: string | null }>({ method: 'POST', path: this.logPath, body, what: `${item.name}, ${day(this.today_!.date)}` });
      this.done = { ...this.done, [item.drill]: logged };
      if (outcome.sent && outcome.answer.data?.stop) this.stopWords = sentence(outcome.answer.data.stop);
      say(outcome.sent ? t('today_written') : t('today_kept'));
      this.feeling = {};
      this.open = this.stopped ? '' : (this.today_!.items.find((one) => !this.done[one.drill])?.drill ?? '');
      if (this.stopped) { await this.updateComplete; this.querySelector<HTMLElement>('#stop-now')?.focus(); }
    } catch (error) {
      this.logFault = Fault.of(error);
    } finally {
      this.writing = false;
    }
  }

  protected override view(): TemplateResult {
    const now = this.today_!;
    const left = now.items.filter((item) => !this.done[item.drill]).length;
    return html`<div class="today">
      <header class="page-head hang"><h1>${this.own ? t('today_hello', { name: now.athlete.name.split(' ')[0] ?? '' }) : now.athlete.name}</h1><p class="lead">${this.dateWords(now)}</p></header>
      ${this.stopped ? this.stop(now) : ''}
      ${now.clearance !== 'full' && !this.stopped ? html`<div class="sign"><strong>${wordFor('plan_clearance', now.clearance)}</strong>${now.referral ? html`<p>${sentence(now.referral)}</p>` : ''}</div>` : ''}
      ${now.items.length > 0 ? this.session(now, left) : this.stopped ? '' : this.restDay(now)}
      ${this.rules(now)}
      ${now.next_retest ? html`<div class="retest-note">${icon('calendar')}<p><strong>${wordFor('protocol_name', now.next_retest.test, sentence(now.next_retest.label))}</strong><br>${t('today_retest', { day: day(now.next_retest.date), when: daysFromNow(now.next_retest.date) })}</p></div>` : ''}
      ${cautionsView(now.cautions)}</div>`;
  }

  private dateWords(now: Today): string {
    const date = new Intl.DateTimeFormat(currentLanguage() === 'en' ? 'en-GB' : currentLanguage(), { weekday: 'long', day: 'numeric', month: 'long' }).format(new Date(now.date + 'T12:00'));
    return [date, now.week ? t('today_week', { n: now.week }) : '', now.deload ? t('plan_lighter') : ''].filter(Boolean).join(' · ');
  }

  // The rule that stops comes before everything else.
  private stop(now: Today): TemplateResult {
    return html`<div class="sign stop-now" role="alert" id="stop-now" tabindex="-1"><strong>${t('today_stop_title')}</strong><p>${this.stopWords || sentence(now.message)}</p>
      ${now.referral && (this.stopWords || now.referral !== now.message) ? html`<p>${sentence(now.referral)}</p>` : ''}<p>${t('today_stop_next')}</p></div>`;
  }

  private restDay(now: Today): TemplateResult {
    const words = [sentence(now.message), now.next_session ? t('today_next_session', { day: day(now.next_session), when: daysFromNow(now.next_session) }) : ''].filter(Boolean).join(' ');
    const step = !now.plan && may('read_records') ? button({ label: t('today_to_athlete'), href: `/athletes/${this.athlete}` }) : undefined;
    return emptyState({ title: now.plan ? t('today_rest') : t('today_no_plan'), words, ...(step ? { step } : {}) });
  }

  private session(now: Today, left: number): TemplateResult {
    const loadedStopped = this.stopped || now.clearance === 'no_drills';
    return html`${now.message && !this.stopped ? html`<p>${sentence(now.message)}</p>` : ''}
      <p class="today-count" role="status">${this.stopped ? '' : left === 0 ? t('today_all_done') : t('today_left', { left, of: now.items.length, minutes: Math.round(now.items.filter((item) => !this.done[item.drill]).reduce((sum, item) => sum + item.minutes, 0)) })}</p>
      <div class="bricks" aria-hidden="true">${now.items.map((item) => html`<span class=${this.done[item.drill] ? 'laid' : ''}></span>`)}</div>
      <ol class="today-drills">${now.items.map((item) => this.item(item, loadedStopped))}</ol>
      ${this.logFault ? errorView(this.logFault) : ''}`;
  }

  private item(item: TodayItem, stopped: boolean): TemplateResult {
    const logged = this.done[item.drill];
    const open = this.open === item.drill && !stopped;
    return html`<li class=${logged ? 'today-drill done' : open ? 'today-drill open' : 'today-drill'}>
      <button class="today-head" aria-expanded=${open ? 'true' : 'false'} ?disabled=${stopped && !logged} @click=${() => { this.open = open ? '' : item.drill; this.feeling = {}; }}>
        <span class="tick" aria-hidden="true">${logged ? icon('check') : ''}</span>
        <span class="grow"><strong>${item.name}</strong><span class="small quiet">${doseWords(item)}${logged ? html` · ${logged.sets === 0 ? t('today_skipped') : t('today_done')}` : ''}</span></span></button>
      ${open ? html`<div class="today-body"><img class="drawing" alt=${t('plan_drawing', { name: item.name })} src="/api/v1/drills/${item.drill}/drawing.svg">
        <p>${item.step_how}</p><p class="cues">${item.cues.map((cue) => html`<span>${cue}</span>`)}</p>
        ${item.cautions.map((line) => html`<p class="fault-line">${line}</p>`)}
        ${button({ label: t('plan_how'), kind: 'bare', act: () => showDrill({ id: item.drill, name: item.name, step: item.step }) })}
        ${this.may() ? this.entry(item) : ''}</div>` : ''}</li>`;
  }

  private may(): boolean { return may('write_own_log'); }

  private entry(item: TodayItem): TemplateResult {
    const { pain_during: pain, effort, stop_sign: sign } = this.feeling;
    const scale = (name: 'pain_during' | 'effort', label: string, low: string, high: string, value: number | undefined) => html`<fieldset class="choice scale"><legend>${label}</legend>
      <div class="stones tight">${Array.from({ length: 11 }, (_, n) => html`<label><input type="radio" name=${name} .checked=${value === n} @change=${() => { this.feeling = { ...this.feeling, [name]: n }; }}><span>${n}</span></label>`)}</div>
      <p class="row between small quiet"><span>0 ${low}</span><span>10 ${high}</span></p></fieldset>`;
    const stop = sign !== undefined || (pain ?? 0) >= painStops;
    return html`<div class="stack gap-2">
      ${scale('pain_during', t('today_pain'), t('today_pain_none'), t('today_pain_worst'), pain)}
      ${scale('effort', t('today_effort'), t('today_effort_none'), t('today_effort_most'), effort)}
      <details class="numbers" ?open=${sign !== undefined}><summary>${t('today_signs')}</summary>${stopSigns.map((one) => check({ id: `sign-${one}`, label: wordFor('stop_sign', one), checked: sign === one,
        change: (on) => { const { stop_sign: _, ...rest } = this.feeling; this.feeling = on ? { ...rest, stop_sign: one } : rest; } }))}</details>
      ${stop ? html`<p class="sign" role="alert"><strong>${t('today_stop_before')}</strong></p>` : ''}
      <div class="stack gap-1">${button({ label: stop ? t('today_write_stop') : t('today_tick'), kind: 'first', wide: true, act: () => this.write(item, this.feeling) })}
        ${button({ label: t('today_skip'), kind: 'bare', act: () => this.write(item, { ...this.feeling, sets: 0 }) })}</div></div>`;
  }

  private rules(now: Today): TemplateResult {
    return html`<section class="course" aria-labelledby="rules"><header><h2 id="rules">${t('plan_stop_rules')}</h2></header><ul class="stack gap-1">${now.stop_rules.map((rule) => html`<li class="fault-line">${sentence(rule)}</li>`)}</ul></section>`;
  }
}
