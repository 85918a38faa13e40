// The drills: the list, and one card with drawing, dose, ladder and stop rules.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { address, api } from '../api/client.js';
import type { DrillRow } from '../api/types.js';
import { drillInWords, loadDrillWords } from '../parts/drill_words.js';
import { drillName } from '../parts/library_names.js';
import { cautionsView, type Caution } from '../parts/views.js';
import { Fault } from '../api/fault.js';
import { Page } from '../shell/page.js';
import { keepInAddress } from '../shell/router.js';
import type { Frame } from '../shell/store.js';
import { t, wordFor } from '../words/index.js';
import { archivedToggle, cardActions, listActions, marks, ownFirst } from './library_card.js';
import type { OwnRecord } from './library_types.js';

interface Dose { sets: number; repetitions?: number; hold_s?: number; times_per_week: number; minutes_per_session: number }
interface Rung { name: string; how: string; easier?: string; harder?: string; move_on?: string }
interface Drill {
  id: string; name: string; purpose: string; position: string; steps: string[]; cues?: string[]; equipment: (string | string[])[];
  targets: { part: string; source?: string }[]; doses: Dose[]; dose_source?: string; ladder: Rung[]; cautions?: string[]; not_with?: string[]; source?: string;
}

@customElement('page-drills')
export class DrillsPage extends Page {
  @state() private rows: DrillRow[] = [];
  @state() private drill: Drill | undefined;
  private cautions: Caution[] | undefined;
  private card: { built_in?: boolean; record?: OwnRecord | null } = {};
  private get archived(): boolean { return this.query.get('archived') === '1'; }

  protected override async load(): Promise<void> {
    const id = this.params['drill'];
    if (id) {
      const { data } = await api.get<{ drill: Drill; cautions: Caution[]; built_in?: boolean; record?: OwnRecord | null }>(`/drills/${id}`, { signal: this.leaving.signal });
      await loadDrillWords();
      [this.drill, this.cautions, this.card] = [drillInWords(id, data.drill), data.cautions, data];
    } else {
      const { data } = await api.get<{ drills: DrillRow[]; cautions: Caution[] }>('/drills', { signal: this.leaving.signal, query: { archived: this.archived || undefined } });
      [this.rows, this.cautions] = [ownFirst(data.drills), data.cautions];
    }
  }
  protected override around(): Partial<Frame> {
    if (!this.drill) return { place: [{ label: t('drills') }], next: this.params['drill'] ? [] : listActions('drills') };
    const { id, name } = this.drill;
    return { place: [{ label: t('drills'), href: '/drills' }, { label: name }],
      next: cardActions('drills', id, name, this.card, (done) => void done.then(() => this.reload(), (error: unknown) => { this.fault = Fault.of(error); })) };
  }
  private withArchived(on: boolean): void {
    keepInAddress({ archived: on ? '1' : undefined });
    this.query = new URLSearchParams(location.search);
    void this.reload();
  }

  private list(): TemplateResult {
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('drills')}</h1><p class="lead">${t('drills_lead')}</p></div>${archivedToggle(this.archived, (on) => this.withArchived(on))}
      <div class="cards">${this.rows.map((one) => html`<a class="card-line" href="/drills/${one.id}"><img src=${address(`/drills/${one.id}/drawing.svg`)} alt="" loading="lazy">
        <span><span class="title">${drillName(one)}</span><span class="quiet small">${one.parts.map((part) => wordFor('limit', part)).join(', ')}</span>${marks(one)}</span></a>`)}</div>${cautionsView(this.cautions)}</div>`;
  }

  private one(d: Drill): TemplateResult {
    const needs = d.equipment.map((one) => (Array.isArray(one) ? one : [one]).map((name) => wordFor('equipment', name)).join(' / ')).join(', ');
    const dose = (one: Dose) => [`${one.sets} × ${one.repetitions ?? 1}`, one.hold_s ? `${one.hold_s} s` : ''].filter(Boolean).join(', ');
    return html`<div class="stack gap-4"><div class="page-head"><h1>${d.name}</h1><p class="lead">${d.purpose}</p>${marks({ built_in: this.card.built_in ?? true, state: this.card.record?.state })}</div>
      <div class="two"><img class="drawing" src=${address(`/drills/${d.id}/drawing.svg`)} alt=${t('drawing_of', { name: d.name })}>
      <section class="stack gap-2"><h2>${t('steps')}</h2><p class="quiet">${d.position}</p><ol class="steps">${d.steps.map((step) => html`<li>${step}</li>`)}</ol>
        ${d.cues?.length ? html`<p>${d.cues.map((cue) => html`<span class="tag">${cue}</span> `)}</p>` : nothing}</section></div>
      <section class="course"><dl class="terms"><dt>${t('targets')}</dt><dd>${d.targets.map((one) => wordFor('limit', one.part)).join(', ')}</dd>
        <dt>${t('needs')}</dt><dd>${needs || t('none')}</dd>
        <dt>${t('dose')}</dt><dd>${d.doses.map((one) => html`${dose(one)} · ${t('minutes_week', { minutes: one.minutes_per_session, sessions: one.times_per_week })}<br>`)}${d.dose_source ? html`<span class="quiet small">${d.dose_source}</span>` : nothing}</dd>
        ${d.not_with?.length ? html`<dt>${t('not_with_signs')}</dt><dd>${d.not_with.map((sign) => wordFor('sign', sign)).join(', ')}</dd>` : nothing}</dl></section>
      ${d.ladder.length ? html`<section class="course"><h2>${t('ladder')}</h2><ol class="steps">${d.ladder.map((rung) => html`<li><strong>${rung.name}.</strong> ${rung.how}${rung.move_on ? html`<br><span class="quiet small">${rung.move_on}</span>` : nothing}</li>`)}</ol></section>` : nothing}
      ${d.cautions?.length ? html`<div class="sign"><strong>${t('stop_rules')}</strong>${d.cautions.map((one) => html`<p>${one}</p>`)}</div>` : nothing}${cautionsView(this.cautions)}</div>`;
  }

  protected override view(): TemplateResult { return this.drill ? this.one(this.drill) : this.list(); }
}
