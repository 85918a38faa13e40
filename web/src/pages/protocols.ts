// The mobility tests: the list, and one card with its drawing, its line, its error and where every number comes from.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { address, api } from '../api/client.js';
import type { ProtocolCard, ProtocolRow } from '../api/types.js';
import { protocolName } from '../parts/library_names.js';
import { loadProtocolWords, protocolInWords } from '../parts/protocol_words.js';
import { quantityText } from '../parts/quantity.js';
import { cautionsView, type Caution } from '../parts/views.js';
import { Fault } from '../api/fault.js';
import { Page } from '../shell/page.js';
import { keepInAddress } from '../shell/router.js';
import type { Frame } from '../shell/store.js';
import { plural, sentence, t, wordFor } from '../words/index.js';
import { archivedToggle, cardActions, listActions, marks, ownFirst } from './library_card.js';
import './library_error.js';
import type { ProtocolLibraryCard } from './library_types.js';

@customElement('page-protocols')
export class ProtocolsPage extends Page {
  @state() private rows: ProtocolRow[] = [];
  @state() private card: (ProtocolCard & Omit<ProtocolLibraryCard, 'protocol' | 'built_in'>) | undefined;
  private cautions: Caution[] | undefined;
  private get archived(): boolean { return this.query.get('archived') === '1'; }

  protected override async load(): Promise<void> {
    const id = this.params['protocol'];
    if (id) {
      const [{ data }] = await Promise.all([api.get<NonNullable<typeof this.card>>(`/protocols/${id}`, { signal: this.leaving.signal }), loadProtocolWords()]);
      this.card = { ...data, protocol: protocolInWords(data.protocol) };
      this.cautions = this.card.cautions;
    } else {
      const { data } = await api.get<{ protocols: ProtocolRow[]; cautions: Caution[] }>('/protocols', { signal: this.leaving.signal, query: { archived: this.archived || undefined } });
      [this.rows, this.cautions] = [ownFirst(data.protocols), data.cautions];
    }
  }
  protected override around(): Partial<Frame> {
    if (!this.card) return { place: [{ label: t('protocols') }], next: this.params['protocol'] ? [] : listActions('protocols') };
    const { id } = this.card.protocol;
    const name = protocolName(this.card.protocol);
    return { place: [{ label: t('protocols'), href: '/protocols' }, { label: name }],
      next: cardActions('protocols', id, name, this.card, (done) => void done.then(() => this.reload(), (error: unknown) => { this.fault = Fault.of(error); })) };
  }
  private withArchived(on: boolean): void {
    keepInAddress({ archived: on ? '1' : undefined });
    this.query = new URLSearchParams(location.search);
    void this.reload();
  }

  private list(): TemplateResult {
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('protocols')}</h1><p class="lead">${t('protocols_lead')}</p></div>${archivedToggle(this.archived, (on) => this.withArchived(on))}
      <div class="cards">${this.rows.map((one) => html`<a class="card-line" href="/protocols/${one.id}"><img src=${address(`/protocols/${one.id}/drawing.svg`)} alt="" loading="lazy">
        <span><span class="title">${protocolName(one)}</span><span class="quiet small">${[plural('tries', one.tries), t('minutes_n', { n: one.minutes }), one.sides === 'each' ? t('each_side') : ''].filter(Boolean).join(' · ')}</span>
        ${one.informs ? html`<span class="quiet small">${t('informs')}: ${wordFor('limit', one.informs)}</span>` : nothing}${marks(one)}</span></a>`)}</div>${cautionsView(this.cautions)}</div>`;
  }

  private one(): TemplateResult {
    const { protocol: p } = this.card!;
    const sourced = (label: string, value: string, source?: string) => html`<dt>${label}</dt><dd>${value}${source ? html`<br><span class="quiet small">${sentence(source)}</span>` : nothing}</dd>`;
    const line = p.pass_line;
    return html`<div class="stack gap-4"><div class="page-head"><h1>${protocolName(p)}</h1><p class="lead">${p.purpose}</p>${marks({ built_in: this.card!.built_in ?? true, state: this.card!.record?.state })}</div>
      <div class="two"><div class="stack gap-3"><img class="drawing" src=${address(`/protocols/${p.id}/drawing.svg`)} alt=${t('drawing_of', { name: protocolName(p) })}></div>
      <section class="stack gap-2"><h2>${t('steps')}</h2><p class="quiet">${p.position}</p><ol class="steps">${p.steps.map((step) => html`<li>${step}</li>`)}</ol></section></div>
      <section class="course"><dl class="terms"><dt>${t('needs')}</dt><dd>${p.equipment.map((one) => wordFor('equipment', one)).join(', ') || t('none')}</dd>
        <dt>${t('how_often')}</dt><dd>${plural('tries', p.tries)}, ${t('minutes_n', { n: p.minutes })}${p.sides === 'each' ? `, ${t('each_side')}` : ''}</dd>
        ${line ? sourced(t('pass_line'), line.label ? sentence(line.label) : quantityText(line.value ?? 0, p.unit), line.source) : nothing}
        ${p.informs ? sourced(t('informs'), p.informs.text ?? '', p.informs.source) : nothing}
        ${p.photo ? sourced(t('photo_how'), p.photo.camera ?? '', p.photo.source) : nothing}
        ${p.not_with?.length ? sourced(t('not_with_signs'), p.not_with.map((sign) => wordFor('sign', sign)).join(', ')) : nothing}</dl></section>
      <lt-own-error .card=${this.card} .changed=${() => void this.reload()}></lt-own-error>
      ${p.norms?.length ? html`<section class="course"><h2>${t('norms')}</h2><div class="table-wrap" tabindex="0" role="region" aria-label=${t('norms')}><table class="table"><thead><tr><th>${t('population')}</th><th class="num">${t('mean')}</th><th class="num">${t('spread')}</th><th>${t('source')}</th></tr></thead>
        <tbody>${p.norms.map((one) => html`<tr><td>${one.population}</td><td class="num">${quantityText(one.mean, p.unit)}</td><td class="num">${one.standard_deviation === undefined ? '' : quantityText(one.standard_deviation, p.unit)}</td><td class="quiet small">${one.source}</td></tr>`)}</tbody></table></div></section>` : nothing}
      ${p.cautions?.length ? html`<div class="sign">${p.cautions.map((one) => html`<p>${sentence(one)}</p>`)}</div>` : nothing}${cautionsView(this.cautions)}</div>`;
  }

  protected override view(): TemplateResult { return this.card ? this.one() : this.list(); }
}
