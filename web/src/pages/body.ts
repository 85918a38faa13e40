// Body size, history, goal, warning signs, consent: everything of the intake; every change is a new version.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { putTogether } from '../api/together.js';
import type { Intake, RecordOf } from '../api/types.js';
import { button, check, choice, field, focusFault, formValues } from '../parts/controls.js';
import { icons } from '../parts/icons.js';
import { askBeforeLeaving } from '../parts/leaving.js';
import { errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { go } from '../shell/router.js';
import { say, settings, type Frame } from '../shell/store.js';
import { formatNumber, fromShown, readNumber, shownAs } from '../units.js';
import { currentLanguage, t, today, wordFor } from '../words/index.js';
import { historyOf } from './history_place.js';
import { lifts } from './new_athlete.js';

const lengths = ['foot_cm', 'shank_cm', 'thigh_cm', 'trunk_cm', 'upper_arm_cm', 'forearm_cm'];
const signs = ['pain', 'numbness', 'dizziness', 'shoulder_instability', 'recent_surgery', 'recent_fracture', 'nerve_root_signs',
  'uncontrolled_blood_pressure', 'pregnancy', 'fever', 'bladder_or_bowel_change'];
const equipment = ['pipe', 'bar', 'discs', 'box', 'ball', 'chair', 'bench', 'roller', 'band', 'pull_up_bar', 'wedge', 'scale', 'kettlebell', 'rack'];
type SetupKey = 'stance_width' | 'toe_out' | 'heel_elevation' | 'grip_width' | 'bar_mass';
const setup: [string, string, SetupKey][] = [['stance_width_cm', 'cm', 'stance_width'], ['toe_out_deg', 'deg', 'toe_out'],
  ['heel_elevation_cm', 'cm', 'heel_elevation'], ['grip_width_cm', 'cm', 'grip_width'], ['bar_mass_kg', 'kg', 'bar_mass']];

type Measured = number | { value: number; standard_error?: number } | undefined;
const plain = (value: unknown): number | undefined => (typeof value === 'object' && value !== null ? (value as { value: number }).value : (value as Measured as number | undefined));

@customElement('page-body')
export class BodyPage extends Page {
  @state() private record: RecordOf<Intake> | undefined;
  @state() private wrong: Record<string, string> = {};
  @state() private refused: Fault | undefined;
  @state() private busy = false;
  /** The form as it was drawn first; empty once it is stored. */
  private asRead = '';

  override connectedCallback(): void {
    super.connectedCallback();
    this.until(askBeforeLeaving(() => this.unsaved));
  }
  private get asTyped(): string {
    const form = this.querySelector('form');
    return form ? JSON.stringify([...new FormData(form)]) : '';
  }
  private get unsaved(): boolean { return this.asRead !== '' && this.asTyped !== this.asRead; }
  protected override updated(): void { if (this.ready && this.asRead === '' && !this.busy) this.asRead = this.asTyped; }

  protected override async load(): Promise<void> {
    this.record = (await api.get<RecordOf<Intake>>(`/athletes/${this.params['athlete']}`, { signal: this.leaving.signal })).data;
  }
  protected override around(): Partial<Frame> {
    const name = this.record?.document.athlete.name ?? '';
    const here = `/athletes/${this.params['athlete']}`;
    return { place: [{ label: t('caseload'), href: '/' }, { label: name, href: here }, { label: t('body_and_history') }], athlete: { id: this.params['athlete']!, name }, next: [{ label: t('versions'), href: historyOf(this.params['athlete']!), icon: icons.history }] };
  }

  /** Text of a field for a value of the document. */
  private shown(value: unknown, unit: string): string {
    const number = plain(value);
    if (number === undefined || number === null) return '';
    const places = Number.isInteger(number) && settings.value.units === 'metric' ? 0 : 1;
    return formatNumber(number, unit, settings.value.units, currentLanguage(), places).replace(/\s|\u202f/g, '');
  }
  /** Puts a typed value into the object, takes an empty one out; what was not touched keeps its error. */
  private put(into: Record<string, unknown>, key: string, text: string | undefined, unit: string): void {
    if (this.shown(into[key], unit) === (text ?? '')) return;
    if (!text) { delete into[key]; return; }
    const value = fromShown(readNumber(text), unit, settings.value.units);
    if (Number.isNaN(value)) this.wrong = { ...this.wrong, [key]: t('must_number') };
    else into[key] = Math.round(value * 100) / 100;
  }

  private changed(form: HTMLFormElement): Intake {
    const values = formValues(form);
    const on = (name: string) => (form.elements.namedItem(name) as HTMLInputElement | null)?.checked ?? false;
    const document = structuredClone(this.record!.document);
    const { athlete } = document;
    athlete.name = values['name'] || athlete.name;
    if (values['sex'] === 'female' || values['sex'] === 'male') athlete.sex = values['sex'];
    for (const key of ['stature_cm', ...lengths]) this.put(athlete.body, key, values[key], 'cm');
    this.put(athlete.body, 'mass_kg', values['mass_kg'], 'kg');
    athlete.setup ??= {};
    for (const [key, unit] of setup) this.put(athlete.setup, key, values[key], unit);
    // What this form does not know stays as it is.
    const ticked = (all: string[], now: string[] = [], name: string) => [...now.filter((one) => !all.includes(one)), ...all.filter((one) => on(`${name}-${one}`))];
    athlete.warning_signs = ticked(signs, athlete.warning_signs, 'sign');
    document.equipment = ticked(equipment, document.equipment, 'equipment');
    const set = (key: 'birth_date' | 'sport' | 'history' | 'notes') => { if (values[key]) document[key] = values[key]; else delete document[key]; };
    (['birth_date', 'sport', 'history', 'notes'] as const).forEach(set);
    document.tags = (values['tags'] ?? '').split(',').map((tag) => tag.trim().toLowerCase()).filter(Boolean);
    const goal: Record<string, unknown> = { ...document.goal, lift: values['lift'] || document.goal?.lift };
    this.put(goal, 'trunk_deg', values['trunk_deg'], 'deg');
    for (const [key, name] of [['date', 'goal_date'], ['words', 'goal_words']] as const) if (values[name]) goal[key] = values[name]; else delete goal[key];
    if (!goal['lift']) delete goal['lift'];
    document.goal = goal;
    this.put(document as unknown as Record<string, unknown>, 'minutes', values['minutes'], 'min');
    this.put(document as unknown as Record<string, unknown>, 'sessions_per_week', values['sessions_per_week'], '');
    if (on('consent') && !document.consent?.given) document.consent = { given: true, date: today(), by: values['consent_by'] || athlete.name };
    if (on('consent') && document.consent?.given && values['consent_by']) document.consent = { ...document.consent, by: values['consent_by'] };
    if (!on('consent') && document.consent?.given) document.consent = { ...document.consent, given: false };
    return document;
  }

  private async send(event: Event): Promise<void> {
    event.preventDefault();
    this.wrong = {};
    this.refused = undefined;
    const document = this.changed(event.target as HTMLFormElement);
    if (Object.keys(this.wrong).length) return focusFault(this);
    this.busy = true;
    try {
      await putTogether<RecordOf<Intake>>(`/athletes/${this.record!.id}`, this.record!, document);
      this.asRead = this.asTyped;
      say(t('saved'));
      await go(`/athletes/${this.record!.id}`);
    } catch (error) {
      this.refused = Fault.of(error);
      // Both changed the same: there theirs is shown now, everywhere else what was typed here stays.
      if (this.refused.stale) await this.load().catch(() => undefined);
      focusFault(this);
    } finally {
      this.busy = false;
    }
  }

  private number(id: string, label: string, value: unknown, unit: string): TemplateResult {
    return field({ id, label, type: 'number', unit: shownAs(unit, settings.value.units).label, value: this.shown(value, unit), fault: this.wrong[id] || this.refused?.of(id) || '' });
  }

  protected override view(): TemplateResult {
    const intake = this.record!.document;
    const { athlete, goal } = intake;
    const fault = (name: string) => this.wrong[name] || this.refused?.of(name) || '';
    const text = (id: string, label: string, value: string | undefined, type: 'text' | 'date' | 'textarea' = 'text', hint?: string) => field({ id, label, value: value ?? '', type, hint, fault: fault(id) });
    return html`<div><div class="page-head"><h1>${t('body_title')}</h1><p class="lead">${t('body_lead')}</p></div>
      <form class="stack gap-4" novalidate ?inert=${this.busy} @submit=${(event: Event) => void this.send(event)}>
        <section class="course"><h2>${t('body')}</h2><div class="grid gap-3">
          ${text('name', t('full_name'), athlete.name)}${text('birth_date', t('birth_date'), intake.birth_date, 'date')}
          ${choice({ id: 'sex', label: t('sex'), value: athlete.sex, options: [['female', t('sex_female')], ['male', t('sex_male')]] })}</div>
          <div class="grid gap-3">${this.number('stature_cm', t('stature'), athlete.body.stature_cm, 'cm')}${this.number('mass_kg', t('mass'), athlete.body.mass_kg, 'kg')}
          ${lengths.map((key) => this.number(key, wordFor('body', key), athlete.body[key], 'cm'))}</div></section>
        <section class="course"><h2>${t('warning_signs')}</h2><p class="quiet">${t('warning_hint')}</p><div class="grid gap-1">
          ${signs.map((sign) => check({ id: `sign-${sign}`, label: wordFor('sign', sign), checked: athlete.warning_signs?.includes(sign) ?? false }))}</div></section>
        <section class="course"><h2>${t('background')}</h2>${text('history', t('history'), intake.history, 'textarea', t('history_hint'))}
          <div class="grid gap-3">${text('sport', t('sport'), intake.sport)}${text('tags', t('tags'), (intake.tags ?? []).join(', '), 'text', t('tags_hint'))}</div>${text('notes', t('notes'), intake.notes, 'textarea')}</section>
        <section class="course"><h2>${t('goal')}</h2>${choice({ id: 'lift', label: t('lift'), value: goal?.lift ?? '', options: lifts.map((lift) => [lift, wordFor('lift', lift)]) })}
          <div class="grid gap-3">${this.number('trunk_deg', t('goal_angle'), goal?.trunk_deg, 'deg')}${text('goal_date', t('goal_date'), goal?.date, 'date')}
          ${this.number('minutes', t('minutes'), intake.minutes, 'min')}${this.number('sessions_per_week', t('per_week'), intake.sessions_per_week, '')}</div>${text('goal_words', t('goal_words'), goal?.words)}</section>
        <section class="course"><h2>${t('setup')}</h2><div class="grid gap-3">${setup.map(([key, unit, label]) => this.number(key, t(label), athlete.setup?.[key], unit))}</div></section>
        <section class="course"><h2>${t('equipment')}</h2><div class="grid gap-1">
          ${equipment.map((one) => check({ id: `equipment-${one}`, label: wordFor('equipment', one), checked: intake.equipment?.includes(one) ?? false }))}</div></section>
        <section class="course"><h2>${t('consent')}</h2>${check({ id: 'consent', label: t('consent_given'), checked: intake.consent?.given ?? false })}${text('consent_by', t('consent_by'), intake.consent?.by)}</section>
        ${this.refused ? errorView(this.refused) : ''}
        <div class="row">${button({ label: t('save'), kind: 'first', submit: true, disabled: this.busy })}${button({ label: t('no_back'), href: `/athletes/${this.record!.id}` })}</div>
      </form></div>`;
  }
}
