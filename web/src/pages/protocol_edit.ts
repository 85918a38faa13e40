// An own test: written, changed, checked as one works.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { button, field } from '../parts/controls.js';
import { icons } from '../parts/icons.js';
import { shownAs } from '../units.js';
import { t, wordFor } from '../words/index.js';
import { entries, numberField, optionalPart, section, selectField, signTicks, sourceField, stones, textField, textList, ticks } from './library_fields.js';
import { LibraryEditor } from './library_editor.js';
import { emptyProtocol, slots, testEquipment, type Draftable, type LibraryCard, type ProtocolLibraryCard } from './library_types.js';

@customElement('page-protocol-edit')
export class ProtocolEdit extends LibraryEditor {
  protected readonly kind = 'protocols';
  protected readonly dash = '_';
  @state() private needs = '';
  /** The recipe for photographs that was there, so that it can be taken back. */
  private droppedPhoto: unknown;

  protected empty(): Draftable { return emptyProtocol(); }
  protected words() { return { list: t('protocols'), fresh: t('lib_new_protocol') }; }
  /** The test says its published error; the one in force may be the workplace's own, kept elsewhere. */
  protected override taken(card: LibraryCard): Draftable {
    const document = super.taken(card);
    const published = (card as ProtocolLibraryCard).published_standard_error;
    if (published) document['standard_error'] = structuredClone(published);
    return document;
  }
  private get unit(): string { return shownAs(this.draft.text('unit'), 'metric').label; }

  protected form(): TemplateResult {
    const d = this.draft;
    return html`${section(d, '', t('lib_what'), () => html`${textField(d, 'name', t('name'), { length: 60 })}${textField(d, 'purpose', t('lib_purpose'), { area: true, hint: t('lib_purpose_hint') })}`)}
      ${section(d, '', t('lib_how'), () => html`${textField(d, 'position', t('lib_position'), { area: true })}${textList(d, 'steps', t('steps'), t('lib_step'), { area: true })}
        ${ticks(d, 'equipment', t('needs'), testEquipment, 'equipment')}${this.otherNeeds()}`)}
      ${section(d, '', t('lib_measuring'), () => this.measuring())}
      ${section(d, '', t('lib_judging'), () => this.judging())}
      ${section(d, '', t('norms'), () => html`${entries(d, 'norms', t('norms'), t('lib_norm'), () => ({ population: '', source: '' }), (at) => html`
        ${textField(d, `${at}.population`, t('population'))}<div class="grid narrow gap-2">${numberField(d, `${at}.mean`, t('mean'), { unit: this.unit })}${numberField(d, `${at}.standard_deviation`, t('spread'), { unit: this.unit, optional: true })}</div>${sourceField(d, `${at}.source`)}`, { hint: t('lib_norms_hint') })}
        ${textField(d, 'norms_note', t('lib_norms_note'), { optional: d.list('norms').length > 0, hint: t('lib_norms_note_hint') })}`)}
      ${section(d, 'informs', t('lib_informs'), () => this.informs(), t('lib_informs_words'))}
      ${section(d, '', t('lib_safety'), () => html`${textList(d, 'cautions', t('lib_cautions'), t('lib_caution'))}${signTicks(d)}`)}
      ${section(d, 'photo', t('photo_how'), () => this.photo())}
      ${section(d, '', t('lib_drawing'), () => this.drawing(), t('lib_drawing_words'))}`;
  }

  private otherNeeds(): TemplateResult {
    const add = () => {
      const word = this.needs.trim();
      if (word && !this.draft.list('equipment').includes(word)) this.draft.tick('equipment', word, true);
      this.needs = '';
    };
    return html`<div class="add-part">${field({ id: 'other-needs', label: t('lib_other_needs'), value: this.needs, length: 60, input: (value) => { this.needs = value; } })}${button({ label: t('add'), icon: icons.add, act: add, disabled: !this.needs.trim() })}</div>`;
  }

  private measuring(): TemplateResult {
    const d = this.draft;
    const fixed = (label: string, words: string) => html`<p><strong>${label}:</strong> ${words} <span class="quiet small">${t('lib_fixed')}</span></p>`;
    const unitWords = (unit: string) => wordFor('unit', unit);
    const sideWords = (sides: string) => wordFor('sides', sides);
    d.note('allowed_range', t('lib_range'));
    return html`${this.own ? html`${fixed(t('lib_unit'), unitWords(d.text('unit')))}${fixed(t('lib_sides'), sideWords(d.text('sides')))}`
      : html`${stones(d, 'unit', t('lib_unit'), ['deg', 'cm', 's'].map((unit) => [unit, unitWords(unit)]))}${stones(d, 'sides', t('lib_sides'), ['each', 'none'].map((sides) => [sides, sideWords(sides)]))}`}
      ${stones(d, 'better', t('lib_better'), ['higher', 'lower', 'neither'].map((one) => [one, wordFor('better', one)]))}
      <div class="grid narrow gap-2">${numberField(d, 'tries', t('lib_tries'))}${numberField(d, 'minutes', t('lib_minutes'), { unit: 'min' })}</div>
      <fieldset class="entries" id="allowed_range" tabindex="-1"><legend>${t('lib_range')}</legend><p class="hint quiet small">${t('lib_range_hint')}</p>
        <div class="grid narrow gap-2">${numberField(d, 'allowed_range.low', t('lib_low'), { unit: this.unit })}${numberField(d, 'allowed_range.high', t('lib_high'), { unit: this.unit })}</div>
        ${d.fault('allowed_range') ? html`<p class="fault-line">${d.fault('allowed_range')}</p>` : nothing}</fieldset>`;
  }

  private judging(): TemplateResult {
    const d = this.draft;
    const { unit } = this;
    d.note('standard_error', t('standard_error_of'));
    const relative = (to: string) => (d.text('pass_line.relative_to') === 'absolute' ? unit : wordFor('times', to));
    return html`${optionalPart(d, 'pass_line', t('lib_has_line'), () => ({ relative_to: 'absolute', label: '', source: '' }), () => html`
        <div class="grid gap-2">${selectField(d, 'pass_line.relative_to', t('lib_line_of'), ['absolute', 'hand_breadth', 'stature'].map((one) => [one, wordFor('line', one)]))}
        ${numberField(d, 'pass_line.value', t('col_value'), { unit: relative(d.text('pass_line.relative_to')) })}${textField(d, 'pass_line.label', t('lib_line_label'), { length: 60, hint: t('lib_line_label_hint') })}</div>${sourceField(d, 'pass_line.source')}`)}
      <fieldset class="entries" id="standard_error" tabindex="-1"><legend>${t('standard_error_of')}</legend><p class="hint quiet small">${t('lib_error_hint')}</p>
        <div class="grid narrow gap-2">${numberField(d, 'standard_error.value', t('col_value'), { unit })}${numberField(d, 'standard_error.tries', t('lib_of_tries'))}${numberField(d, 'standard_error.share_between_tries', t('lib_share'), { optional: true })}</div>${sourceField(d, 'standard_error.source')}</fieldset>
      ${d.text('sides') === 'each' || d.get('side_difference') !== undefined ? optionalPart(d, 'side_difference', t('lib_side_difference'), () => ({ source: '' }), () => html`${numberField(d, 'side_difference.value', t('col_value'), { unit })}${sourceField(d, 'side_difference.source')}`) : nothing}
      ${optionalPart(d, 'reach', t('lib_reach'), () => ({ source: '' }), () => html`<p class="quiet small">${t('lib_reach_hint')}</p><div class="grid narrow gap-2">${numberField(d, 'reach.mean', t('mean'), { unit })}${numberField(d, 'reach.spread', t('spread'), { unit })}</div>${sourceField(d, 'reach.source')}`)}`;
  }

  private informs(): TemplateResult {
    const d = this.draft;
    const slot = d.text('informs.test');
    const now = slot || (d.get('informs.grip_width') === true ? 'grip_width' : '');
    const choose = (value: string) => {
      const { text, source } = d.get<{ text: string; source: string }>('informs') ?? { text: '', source: '' };
      const kept = slots.includes(value) && slot ? d.get<object>('informs')! : {};
      d.set('informs', { ...kept, ...(value === 'grip_width' ? { grip_width: true } : value ? { test: value } : {}), text, source });
    };
    return html`${selectField(d, 'informs.test', t('lib_slot'), [['', t('lib_slot_none')], ...slots.map((one) => [one, wordFor('limit', one)] as [string, string]), ['grip_width', t('grip_width')]], choose, now)}
      ${d.fault('informs.grip_width') ? html`<p class="fault-line">${d.fault('informs.grip_width')}</p>` : nothing}
      ${slot ? html`<p class="quiet small">${t('lib_slot_hint')}</p><div class="grid narrow gap-2">${numberField(d, 'informs.factor', t('lib_factor'), { optional: true })}${numberField(d, 'informs.offset', t('lib_offset'), { unit: this.unit, optional: true })}</div>` : nothing}
      ${textField(d, 'informs.text', t('lib_informs_text'), { area: true })}${sourceField(d, 'informs.source')}`;
  }

  private photo(): TemplateResult {
    const d = this.draft;
    const photo = d.get<{ camera?: string; source?: string; measure: string }>('photo');
    const drop = () => { this.droppedPhoto = photo; d.set('photo', undefined); };
    if (!photo) return html`<p class="quiet">${t('lib_photo_none')}</p>${this.droppedPhoto ? html`<div>${button({ label: t('lib_photo_back'), icon: icons.undo, act: () => d.set('photo', this.droppedPhoto) })}</div>` : nothing}`;
    return html`<p>${t('lib_photo_kept')}</p><p class="quiet">${photo.camera ?? ''}<br><span class="small">${photo.source ?? ''}</span></p>
      ${d.shown.filter((fault) => fault.field.startsWith('photo')).length ? html`<p class="fault-line">${t('lib_photo_fault')}</p>` : nothing}<div>${button({ label: t('lib_photo_drop'), act: drop })}</div>`;
  }
}
