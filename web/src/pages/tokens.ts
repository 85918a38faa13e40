// Access for programs: tokens of the person signed in.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import type { List, Token } from '../api/types.js';
import { button, check, choice, field, formValues } from '../parts/controls.js';
import { openDialog } from '../parts/dialog.js';
import { emptyState, errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { say, session, type Frame } from '../shell/store.js';
import { day, daysFromNow, t, today, wordFor } from '../words/index.js';

const lives = ['30', '90', '366', 'day'] as const;
type Life = (typeof lives)[number];
const longest = 366; // [days], as the server's rule

@customElement('page-tokens')
export class TokensPage extends Page {
  @state() private tokens: Token[] = [];
  @state() private refused: Fault | undefined;
  @state() private some = false;
  @state() private life: Life = '90';
  @state() private wrong: { scopes?: string; day?: string } = {};

  /** What one's own role has: a token cannot have more. */
  private get scopes(): string[] { return session.value?.permissions ?? []; }

  protected override async load(): Promise<void> {
    this.tokens = (await api.get<List<Token>>('/tokens', { signal: this.leaving.signal })).data.items;
  }
  protected override around(): Partial<Frame> { return { place: [{ label: t('settings'), href: '/settings' }, { label: t('tokens') }] }; }

  /** The last day of the token; undefined = the day that was typed will not do. */
  private lastDay(typed: string | undefined): string | undefined {
    if (this.life !== 'day') return today(new Date(Date.now() + Number(this.life) * 86400000 - (this.life === '366' ? 86400000 : 0)));
    return typed && typed >= today() && typed < today(new Date(Date.now() + longest * 86400000)) ? typed : undefined;
  }

  private async make(event: Event): Promise<void> {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const values = formValues(form);
    const scopes = this.some ? this.scopes.filter((scope) => (form.elements.namedItem(`scope-${scope}`) as HTMLInputElement | null)?.checked) : [];
    const until = this.lastDay(values['token-day']);
    this.refused = undefined;
    this.wrong = { ...(this.some && scopes.length === 0 ? { scopes: t('scope_none_chosen') } : {}), ...(until ? {} : { day: t('token_day_fault') }) };
    if (Object.keys(this.wrong).length) return;
    try {
      const { data } = await api.post<Token>('/tokens', { name: values['token'], expires_at: until, ...(this.some ? { scopes } : {}) });
      form.reset();
      [this.some, this.life] = [false, '90'];
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

  private form(): TemplateResult {
    return html`<form class="token-form measure" @submit=${(event: Event) => void this.make(event)}>
      ${field({ id: 'token', label: t('token_name'), required: true, length: 100, fault: this.refused?.of('name') ?? '' })}
      ${choice({ id: 'scope-all', label: t('scope_what'), value: this.some ? 'some' : 'all', options: [['all', t('scope_all')], ['some', t('scope_some')]], change: (value) => { this.some = value === 'some'; } })}
      ${this.some ? html`<fieldset class="scopes"><legend>${t('scope_choose')}</legend><div class="grid gap-1">${this.scopes.map((scope) => check({ id: `scope-${scope}`, label: wordFor('scope', scope) }))}</div>
        ${this.wrong.scopes ? html`<p class="fault-line" role="alert">${this.wrong.scopes}</p>` : nothing}</fieldset>` : nothing}
      ${choice({ id: 'token-life', label: t('token_life'), value: this.life, options: lives.map((life) => [life, wordFor('token_life', life)]), change: (value) => { this.life = value as Life; } })}
      ${this.life === 'day' ? field({ id: 'token-day', label: t('token_day'), type: 'date', required: true, min: today(), fault: this.wrong.day ?? this.refused?.of('expires_at') ?? '' }) : nothing}
      <div>${button({ label: t('new_token'), kind: 'first', submit: true })}</div></form>`;
  }

  private row(one: Token): TemplateResult {
    const scopes = one.scopes.length ? t('scope_list', { scopes: one.scopes.map((scope) => wordFor('scope', scope)).join(', ') }) : t('scope_list_all');
    return html`<li><span class="grow"><strong>${one.name}</strong><span class="small">${scopes}</span>
      <span class="quiet small">${one.last_used_at ? t('token_used', { when: daysFromNow(one.last_used_at) }) : t('token_never')} · ${t('token_until', { day: day(one.expires_at) })}</span></span>
      ${button({ label: t('token_remove'), kind: 'harm', act: () => void this.takeBack(one) })}</li>`;
  }

  protected override view(): TemplateResult {
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('tokens')}</h1><p class="lead">${t('tokens_lead')}</p></div>
      ${this.refused ? errorView(this.refused) : nothing}
      ${this.form()}
      ${this.tokens.length ? html`<ul class="list">${this.tokens.map((one) => this.row(one))}</ul>` : emptyState({ title: t('no_tokens'), words: t('no_tokens_words') })}</div>`;
  }
}
