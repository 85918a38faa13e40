// Access for programs: tokens of the person signed in.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import type { List, Token } from '../api/types.js';
import { button, field, formValues } from '../parts/controls.js';
import { openDialog } from '../parts/dialog.js';
import { emptyState, errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { say, type Frame } from '../shell/store.js';
import { day, daysFromNow, t } from '../words/index.js';

@customElement('page-tokens')
export class TokensPage extends Page {
  @state() private tokens: Token[] = [];
  @state() private refused: Fault | undefined;

  protected override async load(): Promise<void> {
    this.tokens = (await api.get<List<Token>>('/tokens', { signal: this.leaving.signal })).data.items;
  }
  protected override around(): Partial<Frame> { return { place: [{ label: t('settings'), href: '/settings' }, { label: t('tokens') }] }; }

  private async make(event: Event): Promise<void> {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    this.refused = undefined;
    try {
      const { data } = await api.post<Token>('/tokens', { name: formValues(form)['token'] });
      form.reset();
      await this.load();
      await openDialog(t('new_token'), (close) => html`<div class="stack"><p>${t('token_made')}</p><p class="secret" tabindex="0">${data.token}</p>
        <div class="row end">${button({ label: t('copy'), act: () => void navigator.clipboard?.writeText(data.token ?? '').then(() => say(t('copied'))) })}${button({ label: t('close'), kind: 'first', act: () => close() })}</div></div>`);
    } catch (error) {
      this.refused = Fault.of(error);
    }
  }
  private async takeBack(token: Token): Promise<void> {
    try {
      await api.delete(`/tokens/${token.id}`);
      await this.load();
    } catch (error) {
      this.refused = Fault.of(error);
    }
  }

  protected override view(): TemplateResult {
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('tokens')}</h1><p class="lead">${t('tokens_lead')}</p></div>
      ${this.refused ? errorView(this.refused) : nothing}
      <form class="row bottom measure" @submit=${(event: Event) => void this.make(event)}><div class="grow">${field({ id: 'token', label: t('token_name'), required: true, length: 100, fault: this.refused?.of('name') ?? '' })}</div>${button({ label: t('new_token'), kind: 'first', submit: true })}</form>
      ${this.tokens.length ? html`<ul class="list">${this.tokens.map((one) => html`<li><span class="grow"><strong>${one.name}</strong><span class="quiet small">${one.last_used_at ? t('token_used', { when: daysFromNow(one.last_used_at) }) : t('token_never')} · ${t('token_until', { day: day(one.expires_at) })}</span></span>
        ${button({ label: t('token_remove'), kind: 'harm', act: () => void this.takeBack(one) })}</li>`)}</ul>` : emptyState({ title: t('no_tokens'), words: t('no_tokens_words') })}</div>`;
  }
}
