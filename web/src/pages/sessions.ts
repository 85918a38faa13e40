// Where one is signed in: own sessions, each can be ended.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import type { List, OwnSession } from '../api/types.js';
import { button } from '../parts/controls.js';
import { ask } from '../parts/dialog.js';
import { errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { say, type Frame } from '../shell/store.js';
import { moment, plural, t } from '../words/index.js';

@customElement('page-sessions')
export class SessionsPage extends Page {
  @state() private sessions: OwnSession[] = [];
  @state() private refused: Fault | undefined;

  private get others(): OwnSession[] { return this.sessions.filter((one) => !one.current); }

  protected override async load(): Promise<void> {
    this.sessions = (await api.get<List<OwnSession>>('/sessions', { signal: this.leaving.signal })).data.items;
  }
  protected override around(): Partial<Frame> {
    return { place: [{ label: t('settings'), href: '/settings' }, { label: t('sessions') }],
      next: this.others.length ? [{ label: t('sessions_end_others'), act: () => void this.endOthers() }] : [] };
  }

  private async attempt(work: () => Promise<void>): Promise<void> {
    this.refused = undefined;
    try {
      await work();
      await this.load();
    } catch (error) {
      this.refused = Fault.of(error);
    }
    this.settle();
  }
  private async end(one: OwnSession): Promise<void> {
    if (!await ask({ title: t('session_end_title'), words: t('session_end_words'), yes: t('session_end'), harm: true })) return;
    await this.attempt(async () => {
      await api.delete(`/sessions/${one.id}`);
      say(t('session_ended'));
    });
  }
  private async endOthers(): Promise<void> {
    if (!await ask({ title: t('sessions_end_title'), words: t('session_end_words'), yes: t('sessions_end_others'), harm: true })) return;
    await this.attempt(async () => {
      const { data } = await api.delete<{ ended: number }>('/sessions');
      say(plural('sessions_ended', data.ended));
    });
  }

  private row(one: OwnSession): TemplateResult {
    return html`<li data-session=${one.id}><span class="grow"><strong>${one.peer ? t('session_from', { peer: one.peer }) : t('not_measured')}${one.current ? html` <span class="tag">${t('session_here')}</span>` : nothing}</strong>
      <span class="quiet small">${t('session_begun', { when: moment(one.created_at) })} · ${t('session_used', { when: moment(one.last_used_at) })} · ${t('session_until', { when: moment(one.idle_until) })}</span></span>
      ${one.current ? nothing : button({ label: t('session_end'), kind: 'harm', act: () => void this.end(one) })}</li>`;
  }

  protected override view(): TemplateResult {
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('sessions')}</h1><p class="lead">${t('sessions_lead')}</p></div>
      ${this.refused ? errorView(this.refused) : nothing}
      <ul class="list">${this.sessions.map((one) => this.row(one))}</ul>
      ${this.others.length ? html`<div>${button({ label: t('sessions_end_others'), kind: 'harm', act: () => void this.endOthers() })}</div>` : html`<p class="quiet">${t('sessions_none_other')}</p>`}</div>`;
  }
}
