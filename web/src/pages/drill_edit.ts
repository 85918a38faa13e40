// An own drill: written, changed, checked as one works.
import { html, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { check } from '../parts/controls.js';
import { t, wordFor } from '../words/index.js';
import { entries, flag, numberField, section, selectField, signTicks, sourceField, stones, textField, textList } from './library_fields.js';
import { LibraryEditor } from './library_editor.js';
import { drillEquipment, emptyDrill, modes, parts, type Draftable } from './library_types.js';

@customElement('page-drill-edit')
export class DrillEdit extends LibraryEditor {
  protected readonly kind = 'drills';
  protected readonly dash = '-';

  protected empty(): Draftable { return emptyDrill(); }
  protected words() { return { list: t('drills'), fresh: t('lib_new_drill') }; }

  protected form(): TemplateResult {
    const d = this.draft;
    return html`${section(d, '', t('lib_what'), () => html`${textField(d, 'name', t('name'), { length: 60 })}${textField(d, 'purpose', t('lib_purpose'), { area: true })}
        ${stones(d, 'mode', t('lib_mode'), modes.map((mode) => [mode, wordFor('drillmode', mode)]), t('lib_mode_hint'))}${sourceField(d, 'source', t('lib_drill_source_hint'))}`)}
      ${section(d, '', t('targets'), () => entries(d, 'targets', t('targets'), t('lib_target'), () => ({ part: 'ankle', source: '' }), (at) => this.target(at), { keep: 1, hint: t('lib_targets_hint') }))}
      ${section(d, '', t('lib_how'), () => html`${textField(d, 'position', t('lib_position'), { area: true })}${textList(d, 'steps', t('steps'), t('lib_step'), { area: true })}${textList(d, 'cues', t('lib_cues'), t('lib_cue'), { length: 60 })}`)}
      ${section(d, '', t('needs'), () => entries(d, 'equipment', t('needs'), t('lib_need'), () => ['box'], (at) => this.need(at), { hint: t('lib_needs_hint') }))}
      ${section(d, '', t('dose'), () => html`${entries(d, 'doses', t('dose'), t('dose'), () => ({ sets: 2, repetitions: 10, hold_s: 0, times_per_week: 3, minutes_per_session: 5 }), (at) => this.dose(at), { keep: 1, hint: t('lib_doses_hint') })}${sourceField(d, 'dose_source')}`)}
      ${section(d, '', t('ladder'), () => entries(d, 'ladder', t('ladder'), t('lib_rung'), () => ({ name: '', how: '', easier: '', harder: '', move_on: '', good_sessions: 3, effort_at_most: 6, loaded: false }), (at) => this.rung(at), { keep: 1, hint: t('lib_ladder_hint') }))}
      ${section(d, '', t('lib_first'), () => entries(d, 'prerequisites', t('lib_first'), t('lib_prerequisite'), () => ({ drill: this.others()[0]?.[0] ?? '', step: 1 }), (at) => html`<div class="grid gap-2">${selectField(d, `${at}.drill`, t('lib_drill'), this.others(d.text(`${at}.drill`)))}${numberField(d, `${at}.step`, t('lib_from_rung'))}</div>`, { hint: t('lib_first_hint') }))}
      ${section(d, '', t('lib_safety'), () => html`${flag(d, 'loaded', t('lib_loaded'))}<p class="quiet small">${t('lib_loaded_hint')}</p>${textList(d, 'cautions', t('stop_rules'), t('lib_caution'))}${signTicks(d)}`)}
      ${section(d, '', t('lib_drawing'), () => this.drawing(), t('lib_drawing_words'))}`;
  }

  private others(now = ''): [string, string][] {
    const rows = this.rows.filter((row) => row.id !== this.own && (row.state !== 'archived' || row.id === now)).map((row): [string, string] => [row.id, row.name]);
    return now && !rows.some(([id]) => id === now) ? [...rows, [now, now]] : rows;
  }
  private target(at: string): TemplateResult {
    const d = this.draft;
    return html`${selectField(d, `${at}.part`, t('lib_part'), parts.map((part) => [part, wordFor('limit', part)]))}
      <div class="grid narrow gap-2">${numberField(d, `${at}.gain_deg_per_week`, t('lib_gain'), { unit: '°' })}${numberField(d, `${at}.gain_sd_deg_per_week`, t('lib_gain_spread'), { unit: '°' })}
      ${numberField(d, `${at}.reference_minutes_per_week`, t('lib_reference'), { unit: 'min' })}${numberField(d, `${at}.weeks`, t('lib_weeks'))}</div>${sourceField(d, `${at}.source`)}`;
  }
  /** One need: any of the ticked will do. */
  private need(at: string): TemplateResult {
    const d = this.draft;
    return html`<div class="ticks">${drillEquipment.map((one) => check({ id: `${at}-${one}`, label: wordFor('equipment', one), checked: d.list(at).includes(one), change: (on) => d.tick(at, one, on) }))}</div>`;
  }
  private dose(at: string): TemplateResult {
    const d = this.draft;
    return html`<div class="grid narrow gap-2">${numberField(d, `${at}.sets`, t('plan_sets'))}${numberField(d, `${at}.repetitions`, t('plan_repetitions'))}${numberField(d, `${at}.hold_s`, t('lib_hold'), { unit: 's' })}
      ${numberField(d, `${at}.times_per_week`, t('lib_times'))}${numberField(d, `${at}.minutes_per_session`, t('minutes'), { unit: 'min' })}</div>`;
  }
  private rung(at: string): TemplateResult {
    const d = this.draft;
    return html`${textField(d, `${at}.name`, t('name'))}${textField(d, `${at}.how`, t('lib_rung_how'), { area: true })}<div class="grid gap-2">${textField(d, `${at}.easier`, t('lib_easier'))}${textField(d, `${at}.harder`, t('lib_harder'))}</div>
      ${textField(d, `${at}.move_on`, t('lib_move_on'))}<div class="grid narrow gap-2">${numberField(d, `${at}.good_sessions`, t('lib_good_sessions'))}${numberField(d, `${at}.effort_at_most`, t('lib_effort'))}</div>${flag(d, `${at}.loaded`, t('lib_rung_loaded'))}`;
  }
}
