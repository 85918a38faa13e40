// A new athlete in under half a minute: who, how tall, how heavy, which lift.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import type { Intake, RecordOf } from '../api/types.js';
import { button, check, choice, field, focusFault, formValues } from '../parts/controls.js';
import { errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { go } from '../shell/router.js';
import { say, session, settings, type Frame } from '../shell/store.js';
import { formatNumber, fromShown, readNumber, shownAs } from '../units.js';
import { currentLanguage, t, today, wordFor } from '../words/index.js';

export const lifts = ['overhead_squat', 'snatch', 'clean_and_jerk', 'back_squat', 'front_squat'];
export const staturesCm: [number, number] = [120, 230];
export const massesKg: [number, number] = [25, 250];

@customElement('page-new-athlete')
export class NewAthletePage extends Page {
  @state() private wrong: Record<string, string> = {};
  @state() private refused: Fault | undefined;
  @state() private busy = false;
  @state() private lift = 'overhead_squat';
  @state() private sex = '';

  protected override around(): Partial<Frame> { return { place: [{ label: t('caseload'), href: '/' }, { label: t('new_title') }] }; }

  /** A number of the form in the document's unit; notes what is wrong. */
  private quantity(values: Record<string, string>, name: string, unit: string, [low, high]: [number, number], wrong: Record<string, string>): number {
    const value = fromShown(readNumber(values[name] ?? ''), unit, settings.value.units);
    const limit = (n: number) => formatNumber(n, unit, settings.value.units, currentLanguage(), 0);
    if (!values[name]) wrong[name] = t('must_fill');
    else if (Number.isNaN(value)) wrong[name] = t('must_number');
    else if (value < low || value > high) wrong[name] = t('must_between', { low: limit(low), high: limit(high) });
    return Math.round(value * 10) / 10;
  }

  private intake(values: Record<string, string>, wrong: Record<string, string>): Intake {
    if (!values['name']) wrong['name'] = t('must_fill');
    if (!this.sex) wrong['sex'] = t('must_fill');
    const body = { stature_cm: this.quantity(values, 'stature_cm', 'cm', staturesCm, wrong), mass_kg: this.quantity(values, 'mass_kg', 'kg', massesKg, wrong) };
    const athlete = { schema: 'lintel-athlete-1', name: values['name'] ?? '', sex: this.sex, body, setup: { bar_position: 'overhead' } } as unknown as Intake['athlete'];
    return {
      schema: 'lintel-intake-1', athlete, goal: { lift: this.lift },
      ...(values['birth_date'] ? { birth_date: values['birth_date'] } : {}),
      ...(values['consent'] ? { consent: { given: true, date: today(), by: values['name'] ?? session.value!.name } } : {}),
    };
  }

  private async send(event: Event): Promise<void> {
    event.preventDefault();
    const wrong: Record<string, string> = {};
    const document = this.intake(formValues(event.target as HTMLFormElement), wrong);
    this.wrong = wrong;
    this.refused = undefined;
    if (Object.keys(wrong).length) return focusFault(this);
    this.busy = true;
    try {
      const { data } = await api.post<RecordOf<Intake>>('/athletes', document);
      say(t('taken_in', { name: document.athlete.name }));
      await go(`/athletes/${data.id}`, { replace: true });
    } catch (error) {
      this.refused = Fault.of(error);
      focusFault(this);
    } finally {
      this.busy = false;
    }
  }

  protected override view(): TemplateResult {
    const fault = (name: string) => this.wrong[name] || this.refused?.of(name) || '';
    const unit = (name: string) => shownAs(name, settings.value.units).label;
    return html`<div><div class="page-head"><h1>${t('new_title')}</h1><p class="lead">${t('new_lead')}</p></div>
      <form class="stack gap-3 measure" novalidate @submit=${(event: Event) => void this.send(event)}>
        ${field({ id: 'name', label: t('full_name'), value: this.query.get('name') ?? '', fault: fault('name'), required: true, focus: true, length: 200 })}
        <div class="grid gap-3">
          ${field({ id: 'stature_cm', label: t('stature'), type: 'number', unit: unit('cm'), fault: fault('stature_cm'), required: true })}
          ${field({ id: 'mass_kg', label: t('mass'), type: 'number', unit: unit('kg'), fault: fault('mass_kg'), required: true })}
          ${field({ id: 'birth_date', label: t('birth_date'), type: 'date', optional: true, max: today(), fault: fault('birth_date') })}
        </div>
        ${choice({ id: 'sex', label: t('sex'), hint: t('sex_hint'), value: this.sex, options: [['female', t('sex_female')], ['male', t('sex_male')]], change: (value) => { this.sex = value; } })}
        ${this.wrong['sex'] ? html`<p class="fault-line">${this.wrong['sex']}</p>` : ''}
        ${choice({ id: 'lift', label: t('lift'), value: this.lift, options: lifts.map((lift) => [lift, wordFor('lift', lift)]), change: (value) => { this.lift = value; } })}
        ${check({ id: 'consent', label: t('consent_given') })}
        ${this.refused ? errorView(this.refused) : ''}
        <div class="row">${button({ label: t('take_in'), kind: 'first', submit: true, disabled: this.busy })}${button({ label: t('no_back'), href: '/' })}</div>
      </form></div>`;
  }
}
