// The mobility tests: the list, and one card with its drawing, its line, its error and where every number comes from.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { address, api } from '../api/client.js';
import type { ProtocolCard, ProtocolRow } from '../api/types.js';
import { quantityText } from '../parts/quantity.js';
import { cautionsView, type Caution } from '../parts/views.js';
import { Page } from '../shell/page.js';
import type { Frame } from '../shell/store.js';
import { plural, t, wordFor } from '../words/index.js';

@customElement('page-protocols')
export class ProtocolsPage extends Page {
  @state() private rows: ProtocolRow[] = [];
  @state() private card: ProtocolCard | undefined;
  private cautions: Caution[] | undefined;

  protected override async load(): Promise<void> {
    const id = this.params['protocol'];
    if (id) {
      this.card = (await api.get<ProtocolCard>(`/protocols/${id}`, { signal: this.leaving.signal })).data;
      this.cautions = this.card.cautions;
    } else {
      const { data } = await api.get<{ protocols: ProtocolRow[]; cautions: Caution[] }>('/protocols', { signal: this.leaving.signal });
      [this.rows, this.cautions] = [data.protocols, data.cautions];
    }
  }
  protected override around(): Partial<Frame> {
    return { place: this.card ? [{ label: t('protocols'), href: '/protocols' }, { label: this.card.protocol.name }] : [{ label: t('protocols') }] };
  }

  private list(): TemplateResult {
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('protocols')}</h1><p class="lead">${t('protocols_lead')}</p></div>
      <div class="cards">${this.rows.map((one) => html`<a class="card-line" href="/protocols/${one.id}"><img src=${address(`/protocols/${one.id}/drawing.svg`)} alt="" loading="lazy">
        <span><span class="title">${one.name}</span><span class="quiet small">${[plural('tries', one.tries), t('minutes_n', { n: one.minutes }), one.sides === 'each' ? t('each_side') : ''].filter(Boolean).join(' · ')}</span>
        ${one.informs ? html`<span class="quiet small">${t('informs')} ${wordFor('limit', one.informs).toLowerCase()}</span>` : nothing}</span></a>`)}</div>${cautionsView(this.cautions)}</div>`;
  }

  private one(): TemplateResult {
    const { protocol: p } = this.card!;
    const sourced = (label: string, value: string, source?: string) => html`<dt>${label}</dt><dd>${value}${source ? html`<br><span class="quiet small">${source}</span>` : nothing}</dd>`;
    const line = p.pass_line;
    return html`<div class="stack gap-4"><div class="page-head"><h1>${p.name}</h1><p class="lead">${p.purpose}</p></div>
      <div class="two"><div class="stack gap-3"><img class="drawing" src=${address(`/protocols/${p.id}/drawing.svg`)} alt=${t('drawing_of', { name: p.name })}></div>
      <section class="stack gap-2"><h2>${t('steps')}</h2><p class="quiet">${p.position}</p><ol class="steps">${p.steps.map((step) => html`<li>${step}</li>`)}</ol></section></div>
      <section class="course"><dl class="terms"><dt>${t('needs')}</dt><dd>${p.equipment.map((one) => wordFor('equipment', one)).join(', ') || t('none')}</dd>
        <dt>${t('how_often')}</dt><dd>${plural('tries', p.tries)}, ${t('minutes_n', { n: p.minutes })}${p.sides === 'each' ? `, ${t('each_side')}` : ''}</dd>
        ${line ? sourced(t('pass_line'), line.label ?? quantityText(line.value ?? 0, p.unit), line.source) : nothing}
        ${p.standard_error?.value !== undefined ? sourced(t('standard_error_of'), `${quantityText(p.standard_error.value, p.unit, undefined, 1)} (${plural('tries', p.standard_error.tries ?? 1)})`, p.standard_error.source) : nothing}
        ${p.informs ? sourced(t('informs'), p.informs.text ?? '', p.informs.source) : nothing}
        ${p.photo ? sourced(t('photo_how'), p.photo.camera ?? '', p.photo.source) : nothing}
        ${p.not_with?.length ? sourced(t('not_with_signs'), p.not_with.map((sign) => wordFor('sign', sign)).join(', ')) : nothing}</dl></section>
      ${p.norms?.length ? html`<section class="course"><h2>${t('norms')}</h2><div class="table-wrap" tabindex="0" role="region" aria-label=${t('norms')}><table class="table"><thead><tr><th>${t('population')}</th><th class="num">${t('mean')}</th><th class="num">${t('spread')}</th><th>${t('source')}</th></tr></thead>
        <tbody>${p.norms.map((one) => html`<tr><td>${one.population}</td><td class="num">${quantityText(one.mean, p.unit)}</td><td class="num">${one.standard_deviation === undefined ? '' : quantityText(one.standard_deviation, p.unit)}</td><td class="quiet small">${one.source}</td></tr>`)}</tbody></table></div></section>` : nothing}
      ${p.cautions?.length ? html`<div class="sign">${p.cautions.map((one) => html`<p>${one}</p>`)}</div>` : nothing}${cautionsView(this.cautions)}</div>`;
  }

  protected override view(): TemplateResult { return this.card ? this.one() : this.list(); }
}
