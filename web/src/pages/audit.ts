// Who did what, when; and whether the chain is whole.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import type { AuditEntry, AuditVerdict, List, Person } from '../api/types.js';
import { button } from '../parts/controls.js';
import { errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { may, session, type Frame } from '../shell/store.js';
import { moment, t, wordFor } from '../words/index.js';

@customElement('page-audit')
export class AuditPage extends Page {
  @state() private entries: AuditEntry[] = [];
  @state() private verdict: AuditVerdict | undefined;
  @state() private refused: Fault | undefined;
  private names = new Map<string, string>();
  private older: string | null | undefined;

  protected override async load(): Promise<void> {
    if (may('administer')) {
      const { data } = await api.get<List<Person>>('/people', { signal: this.leaving.signal });
      this.names = new Map(data.items.map((one) => [one.id, one.name]));
    }
    this.names.set(session.value!.person, session.value!.name);
    await this.read();
  }
  protected override around(): Partial<Frame> {
    return { place: [{ label: t('settings'), href: '/settings' }, { label: t('audit') }], next: [{ label: t('audit_check'), act: () => void this.check(), first: true }] };
  }
  private async read(): Promise<void> {
    const { data } = await api.get<List<AuditEntry>>('/audit', { query: { limit: 100, after: this.older ?? undefined }, signal: this.leaving.signal });
    this.entries = [...this.entries, ...data.items];
    this.older = data.next;
  }
  private async check(): Promise<void> {
    this.refused = undefined;
    try {
      this.verdict = (await api.get<AuditVerdict>('/audit/verify')).data;
    } catch (error) {
      this.refused = Fault.of(error);
    }
  }

  protected override view(): TemplateResult {
    const verdict = this.verdict;
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('audit')}</h1><p class="lead">${t('audit_lead')}</p></div>
      ${this.refused ? errorView(this.refused) : nothing}
      ${verdict ? html`<div class="sign ${verdict.whole ? 'real' : ''}" role="status"><strong>${verdict.whole ? t('audit_whole', { n: verdict.rows }) : t('audit_broken', { n: verdict.first_broken ?? 0 })}</strong>${verdict.fault ? html`<p>${verdict.fault}</p>` : nothing}</div>` : nothing}
      <div class="table-wrap" tabindex="0" role="region" aria-label=${t('audit')}><table class="table"><thead><tr><th>${t('col_when')}</th><th>${t('col_who')}</th><th>${t('col_what')}</th><th>${t('col_of')}</th></tr></thead>
        <tbody>${this.entries.map((one) => html`<tr><td class="nowrap">${moment(one.at)}</td><td>${one.person ? (this.names.get(one.person) ?? one.person.slice(0, 8)) : '–'}</td><td>${wordFor('audit', one.action)}</td>
          <td class="quiet">${[one.detail, one.record?.slice(0, 8)].filter(Boolean).join(' · ')}</td></tr>`)}</tbody></table></div>
      ${this.older ? html`<div>${button({ label: t('older'), act: () => void this.read() })}</div>` : nothing}</div>`;
  }
}
