// The standard error of a test: which is in force, the workplace's own one by hand or from a table of repeated measurements.
import { LitElement, html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { api, send } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button, field, focusFault, formValues } from '../parts/controls.js';
import { ask } from '../parts/dialog.js';
import { icons } from '../parts/icons.js';
import { quantityText } from '../parts/quantity.js';
import { errorView } from '../parts/views.js';
import { may, say, settings } from '../shell/store.js';
import { readNumber, shownAs } from '../units.js';
import { currentLanguage, day, plural, t } from '../words/index.js';
import { plainTable } from './library_draft.js';
import type { ProtocolLibraryCard, StandardError } from './library_types.js';

interface Bounds { lower: number | null; upper: number | null }
interface Reliability {
  columns: string[]; subjects: number; tries_per_value: number; icc: { icc_2_1: { value: number } };
  error: { sem_from_residual: number; sem_from_residual_interval95: Bounds; mdc95: number };
  tester: { published: number; updated: number; own_share: number } | null;
  standard_error?: StandardError | null;
}

@customElement('lt-own-error')
export class OwnErrorPart extends LitElement {
  @property({ attribute: false }) card!: ProtocolLibraryCard;
  /** After a change: the page reads the card again. */
  @property({ attribute: false }) changed: () => void = () => undefined;
  @state() private open = false;
  @state() private over = false;
  @state() private busy = false;
  @state() private wrong: Record<string, string> = {};
  @state() private refused: Fault | undefined;
  @state() private table: { name: string; found: Reliability } | undefined;
  @state() private tries = '1';
  private file: File | undefined;

  protected override createRenderRoot(): HTMLElement { return this; }

  private get unit(): string { return this.card.protocol.unit; }
  private get path(): string { return `/protocols/${this.card.protocol.id}`; }
  private amount(value: number): string {
    const round = Math.abs(value * 10 - Math.round(value * 10)) < 1e-9 && settings.value.units === 'metric';
    return quantityText(value, this.unit, undefined, round ? 1 : 2);
  }
  /** The error that the test itself states: of a built-in one it is published. */
  private get stated(): { now: string; is: (value: string) => string; back: string } {
    if (this.card.built_in) return { now: t('lib_error_published'), is: (value) => t('lib_error_published_is', { value }), back: t('lib_error_back') };
    return { now: t('lib_error_stated'), is: (value) => t('lib_error_stated_is', { value }), back: t('lib_error_back_stated') };
  }
  private words(error: StandardError): string { return t('lib_error_of', { value: this.amount(error.value), tries: plural('tries', error.tries) }); }

  private async attempt(work: () => Promise<unknown>, words: string): Promise<void> {
    [this.busy, this.refused, this.wrong] = [true, undefined, {}];
    try {
      await work();
      [this.open, this.table] = [false, undefined];
      say(words);
      this.changed();
    } catch (error) {
      this.refused = Fault.of(error);
      focusFault(this);
    } finally {
      this.busy = false;
    }
  }
  private put(error: StandardError): Promise<void> {
    const version = this.card.own_standard_error?.version ?? 0;
    const { value, tries, share_between_tries, source } = error;
    return this.attempt(() => api.put(`${this.path}/standard-error`, { value, tries, ...(share_between_tries === undefined ? {} : { share_between_tries }), source }, { version }), t('lib_error_taken'));
  }
  private take(event: Event): void {
    event.preventDefault();
    const values = formValues(event.target as HTMLFormElement);
    const wrong: Record<string, string> = {};
    const number = (name: string) => {
      const value = readNumber(values[name] ?? '');
      if (!values[name]) wrong[name] = t('must_fill');
      else if (Number.isNaN(value)) wrong[name] = t('must_number');
      return value;
    };
    const error: StandardError = { value: number('value'), tries: number('tries'), source: values['source'] ?? '' };
    if (values['share_between_tries']) error.share_between_tries = number('share_between_tries');
    if (!values['source']) wrong['source'] = t('must_fill');
    this.wrong = wrong;
    if (Object.keys(wrong).length) focusFault(this);
    else void this.put(error);
  }
  private async back(): Promise<void> {
    if (!await ask({ title: this.stated.back, words: t('lib_error_back_words'), yes: this.stated.back })) return;
    await this.attempt(() => api.delete(`${this.path}/standard-error`, { version: this.card.own_standard_error!.version }), t('lib_error_back_now'));
  }

  // ---- from a table
  private async read(file: File | undefined): Promise<void> {
    if (!file) return;
    this.file = file;
    [this.busy, this.refused, this.table] = [true, undefined, undefined];
    try {
      const body = new Blob([plainTable(await file.text())], { type: 'text/csv' });
      const tries = readNumber(this.tries);
      const response = await send('POST', `${this.path}/reliability`, body, { headers: { 'Content-Type': 'text/csv' }, query: { tries: tries > 1 ? tries : undefined } });
      this.table = { name: file.name, found: await response.json() as Reliability };
    } catch (error) {
      this.refused = Fault.of(error);
    } finally {
      this.busy = false;
    }
  }

  private fromTable(): TemplateResult {
    return html`<section class="stack gap-2" aria-labelledby="from-table"><h3 id="from-table">${t('lib_table')}</h3><p class="quiet measure">${t('lib_table_words', { unit: shownAs(this.unit, 'metric').label })}</p>
      <pre class="stone small" tabindex="0" aria-label=${t('lib_table_example')}>${t('lib_table_lines')}</pre>
      <div class="measure">${field({ id: 'per-value', label: t('lib_table_tries'), type: 'number', value: this.tries, hint: t('lib_table_tries_hint'), change: (value) => { this.tries = value; if (this.file) void this.read(this.file); } })}</div>
      <div class="drop ${this.over ? 'over' : ''}" @dragover=${(event: DragEvent) => { event.preventDefault(); this.over = true; }} @dragleave=${() => { this.over = false; }}
        @drop=${(event: DragEvent) => { event.preventDefault(); this.over = false; void this.read(event.dataTransfer?.files[0]); }}>
        <p>${t('lib_table_drop')}</p><input id="table-file" class="for-ears" type="file" tabindex="-1" aria-hidden="true" accept=".csv,text/csv,text/plain" @change=${(event: Event) => { const input = event.target as HTMLInputElement; void this.read(input.files?.[0]); input.value = ''; }}>
        ${button({ label: t('lib_table_choose'), icon: icons.bring_in, disabled: this.busy, act: () => this.querySelector<HTMLInputElement>('#table-file')!.click() })}</div>
      <div role="status">${this.table ? this.found(this.table.found, this.table.name) : nothing}</div></section>`;
  }
  private found(r: Reliability, name: string): TemplateResult {
    const { lower, upper } = r.error.sem_from_residual_interval95;
    const number = (value: number, places: number) => new Intl.NumberFormat(currentLanguage(), { minimumFractionDigits: places, maximumFractionDigits: places }).format(value);
    const taken = r.standard_error;
    return html`<div class="sign real"><strong>${t('lib_found', { name })}</strong>
      <ul class="stack gap-1"><li>${t('lib_found_what', { people: plural('lib_people', r.subjects), columns: r.columns.join(', ') })}</li>
      <li>${t('lib_found_error', { value: this.amount(r.error.sem_from_residual) })}${lower !== null && upper !== null ? ` ${t('lib_found_interval', { low: this.amount(lower), high: this.amount(upper) })}` : nothing}</li>
      ${r.tester ? html`<li>${t('lib_found_weighed', { published: this.amount(r.tester.published), tries: plural('tries', r.tries_per_value), updated: this.amount(r.tester.updated), share: number(r.tester.own_share * 100, 0) })}</li>` : nothing}
      <li>${t('lib_found_change', { value: this.amount(r.error.mdc95) })}</li><li>${t('lib_found_icc', { value: number(r.icc.icc_2_1.value, 2) })}</li></ul>
      ${taken ? html`<div>${button({ label: t('lib_take_over', { value: this.amount(taken.value) }), disabled: this.busy, act: () => void this.put(taken) })}</div><p class="quiet small">${this.words(taken)}; ${taken.source}</p>` : html`<p>${t('lib_found_none')}</p>`}</div>`;
  }

  private byHand(): TemplateResult {
    const now = this.card.protocol.standard_error;
    const own = this.card.own_standard_error;
    const fault = (name: string) => this.wrong[name] || this.refused?.of(name) || '';
    const text = (value: number | undefined) => (value === undefined ? '' : String(value).replace('.', currentLanguage() === 'de' ? ',' : '.'));
    return html`<form class="stack gap-2" novalidate @submit=${(event: Event) => this.take(event)}><h3>${t('lib_by_hand')}</h3>
      <div class="grid narrow gap-2">${field({ id: 'value', label: t('col_value'), type: 'number', unit: shownAs(this.unit, 'metric').label, value: own ? text(own.value) : '', fault: fault('value') })}
      ${field({ id: 'tries', label: t('lib_of_tries'), type: 'number', value: text((own ?? now)?.tries), fault: fault('tries') })}</div>
      ${field({ id: 'share_between_tries', label: t('lib_share'), type: 'number', optional: true, hint: t('lib_share_hint'), value: text(own?.share_between_tries), fault: fault('share_between_tries') })}
      ${field({ id: 'source', label: t('source'), value: own?.source ?? '', hint: t('lib_error_source_hint'), fault: fault('source'), length: 600 })}
      <div class="row">${button({ label: t('lib_error_take'), submit: true, disabled: this.busy })}</div></form>`;
  }

  protected override render(): TemplateResult | typeof nothing {
    const { protocol: p, own_standard_error: own, published_standard_error: published } = this.card;
    const now = p.standard_error;
    if (!now && !own) return nothing;
    return html`<section class="course" aria-labelledby="error-title"><header><h2 id="error-title">${t('standard_error_of')}</h2></header>
      ${now ? html`<p><strong>${this.words(now)}</strong> <span class="tag ${own ? 'own' : ''}">${own ? html`${icons.tests}${t('lib_error_own')}` : this.stated.now}</span></p><p class="quiet small">${now.source}${own ? ` · ${t('lib_since', { day: day(own.changed_at.slice(0, 10)) })}` : ''}</p>` : nothing}
      ${own && published ? html`<p class="quiet">${this.stated.is(this.words(published))} <span class="small">${published.source}</span></p>` : nothing}
      ${!may('write_records') ? nothing : html`${this.refused ? errorView(this.refused, this.refused.status === 412 ? () => this.changed() : undefined) : nothing}
        <div class="row gap-1">${button({ label: this.open ? t('close') : own ? t('lib_error_change') : t('lib_error_set'), act: () => { this.open = !this.open; } })}${own ? button({ label: this.stated.back, act: () => void this.back() }) : nothing}</div>
        ${this.open ? html`<p class="quiet measure">${t('lib_error_words')}</p><div class="two">${this.byHand()}${this.fromTable()}</div>` : nothing}`}</section>`;
  }
}
declare global { interface HTMLElementTagNameMap { 'lt-own-error': OwnErrorPart } }
