// The tests: the one that would tell most comes first, what is done shows its result against the pass line.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { icons } from '../parts/icons.js';
import { protocolName } from '../parts/library_names.js';
import { look } from '../parts/look.js';
import { quantity } from '../parts/quantity.js';
import { may, type Action } from '../shell/store.js';
import { plural, sentence, t, wordFor } from '../words/index.js';
import { historyOf } from './history_place.js';
import { cautionsView, head, orNothing, nice, VisitPage } from './visit_base.js';
import { entryOf, ordered, outcomeOf, readTests, resultOf, sidesOf, type Side, type TestRow, type TestsRecord } from './tests_data.js';
import type { Findings, ProtocolListed } from './visit_types.js';

@customElement('page-tests')
export class Tests extends VisitPage {
  @state() private record: TestsRecord | undefined;
  @state() private protocols: ProtocolListed[] = [];
  @state() private choice: Findings['next_tests'] | undefined;
  @state() private asked = false;

  protected override heading(): string { return t('tests_title'); }

  protected override async load(): Promise<void> {
    await super.load();
    const signal = this.leaving.signal;
    const [record, list] = await Promise.all([readTests(this.visitId, signal), api.get<{ protocols: ProtocolListed[] }>('/protocols', { signal, query: { archived: true } })]);
    this.record = record;
    // Archived ones are not offered; what was measured with them stays.
    this.protocols = list.data.protocols.filter((one) => one.state !== 'archived' || record.document.results.some((result) => result.protocol === one.id));
    void this.loadChoice();
  }

  // The choice of the next test takes a moment: the list is there before it.
  private async loadChoice(): Promise<void> {
    if (!may('read_records')) { this.asked = true; return; }
    try {
      this.choice = (await orNothing(this.findings()))?.next_tests ?? null;
    } catch { /* without it the list keeps its order */ }
    this.asked = true;
    this.settle();
  }

  protected override actions(): Action[] {
    const actions: Action[] = [];
    const first = this.rows()[0];
    if (first?.option || first?.rank === -1) actions.push({ label: protocolName(first.protocol), href: `${this.base}/tests/${first.protocol.id}`, first: true });
    if (may('read_records')) actions.push({ label: t('visit_do_why'), href: `${this.base}/why`, first: actions.length === 0 });
    actions.push({ label: t('visit_nav_film'), href: `${this.base}/film` });
    if (this.record?.id) actions.push({ label: t('versions'), href: historyOf(this.record.id), icon: icons.history });
    return actions;
  }

  private rows(): TestRow[] {
    if (!this.record) return [];
    const options = this.choice && this.choice.stop === 'not_yet' ? this.choice.options : [];
    return ordered(this.protocols, this.record, options);
  }

  protected override view(): TemplateResult {
    const rows = this.rows();
    const done = rows.filter((row) => row.done.length > 0);
    const next = rows.filter((row) => row.done.length === 0 && row.option).slice(0, 3);
    const others = rows.filter((row) => !done.includes(row) && !next.includes(row));
    const enough = this.choice && this.choice.stop !== 'not_yet';
    return html`${head(t('tests_title'), done.length > 0 ? plural('visit_tests_done', this.record!.document.results.length) : t('tests_lead'))}
      ${this.signs()}
      ${next.length > 0 ? html`<section class="course" aria-labelledby="next"><header><h2 id="next">${t('tests_next')}</h2></header>
        <p class="quiet">${nice(sentence(this.choice?.sentence ?? ''))}</p><ul class="test-cards">${next.map((row, i) => this.card(row, i === 0))}</ul></section>`
        : !this.asked ? html`<p class="quiet" role="status">${t('tests_choosing')}</p>` : ''}
      ${enough ? html`<p class="sign real">${nice(sentence(this.choice!.sentence))}</p>` : ''}
      ${done.length > 0 ? html`<section class="course" aria-labelledby="done"><header><h2 id="done">${t('tests_done')}</h2></header>
        <ul class="test-done">${done.map((row) => this.doneRow(row))}</ul>${this.remarks()}</section>` : ''}
      <section class="course" aria-labelledby="others"><header><h2 id="others">${t('tests_others')}</h2></header>
        <ul class="test-cards small-cards">${others.map((row) => this.card(row))}</ul></section>
      ${cautionsView(this.record?.outcome?.cautions)}`;
  }

  private card(row: TestRow, first?: boolean): TemplateResult {
    const { protocol } = row;
    return html`<li class=${first ? 'test-card first' : 'test-card'}><a href="${this.base}/tests/${protocol.id}">
      <img loading="lazy" alt="" src="/api/v1/protocols/${protocol.id}/drawing.svg"><strong>${protocolName(protocol)}</strong>
      <span class="small quiet">${t('tests_minutes', { n: protocol.minutes })}${protocol.informs ? '' : html` · ${t('tests_no_model')}`}</span>
      ${row.option && first !== undefined ? html`<span class="bits" aria-hidden="true"><span ${look({ width: `${Math.min(100, 100 * row.option.worth.information_bits)}%` })}></span></span>` : ''}</a></li>`;
  }

  private doneRow(row: TestRow): TemplateResult {
    const { protocol } = row;
    return html`<li><a href="${this.base}/tests/${protocol.id}"><strong>${protocolName(protocol)}</strong>
      <span class="test-results">${sidesOf(protocol).map((side) => this.result(protocol, side))}</span></a></li>`;
  }

  private result(protocol: ProtocolListed, side: Side): TemplateResult {
    const row = outcomeOf(this.record!, protocol.id, side);
    const result = resultOf(row, protocol.unit);
    const label = side ? wordFor('side', side) : '';
    if (!row) return html`<span class="quiet">${label} ${entryOf(this.record!, protocol.id, side) ? t('tests_kept') : t('tests_missing')}</span>`;
    const passes = row.pass ? (row.pass.within_error ? 'near' : row.pass.passes ? 'pass' : 'short') : 'none';
    return html`<span class="test-result"><span class="small quiet">${label}</span> ${quantity({ value: result?.value ?? null, error: result?.standard_error ?? null, unit: protocol.unit, places: protocol.unit === 'deg' ? 0 : 1 })}
      ${row.pass ? html`<span class=${`pass-mark ${passes}`}>${wordFor('tests_pass', passes)}</span>` : ''}</span>`;
  }

  private remarks(): TemplateResult | '' {
    const remarks = this.record?.outcome?.remarks ?? [];
    return remarks.length > 0 ? html`<ul class="stack gap-1 small quiet">${remarks.map((remark) => html`<li>${nice(sentence(remark))}</li>`)}</ul>` : '';
  }
}
