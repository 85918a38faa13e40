// An invitation: choose a passphrase and come in. The secret is in the fragment, which no server or log gets to see.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button, field, focusFault, formValues } from '../parts/controls.js';
import { errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { go } from '../shell/router.js';
import { readSession, type Frame } from '../shell/store.js';
import { t } from '../words/index.js';
import { shortestPassphrase } from './start.js';

@customElement('page-join')
export class JoinPage extends Page {
  @state() private invitation: { name: string; login: string; organization: string } | undefined;
  @state() private wrong: Record<string, string> = {};
  @state() private refused: Fault | undefined;
  private readonly secret = location.hash.slice(1);

  protected override async load(): Promise<void> {
    try {
      this.invitation = (await api.post<NonNullable<JoinPage['invitation']>>('/invitations/look', { secret: this.secret })).data;
    } catch (error) {
      const fault = Fault.of(error);
      if (fault.offline || fault.status >= 500) throw fault;
    }
  }
  protected override around(): Partial<Frame> { return { place: [{ label: t('join_title') }], alone: true }; }

  private async send(event: Event): Promise<void> {
    event.preventDefault();
    const { passphrase = '', again } = formValues(event.target as HTMLFormElement);
    this.wrong = passphrase.length < shortestPassphrase ? { passphrase: t('passphrase_short') } : passphrase !== again ? { again: t('passphrase_differs') } : {};
    this.refused = undefined;
    if (Object.keys(this.wrong).length) return focusFault(this);
    try {
      await api.post('/invitations/accept', { secret: this.secret, passphrase });
      await readSession();
      await go('/', { replace: true });
    } catch (error) {
      this.refused = Fault.of(error);
    }
  }

  protected override view(): TemplateResult {
    if (!this.invitation) return html`<div><div class="page-head hang"><h1>${t('join_gone')}</h1><p class="lead">${t('join_gone_words')}</p></div>${button({ label: t('sign_in'), href: '/sign-in' })}</div>`;
    const { name, login, organization } = this.invitation;
    return html`<div><div class="page-head hang"><h1>${t('join_title')}</h1><p class="lead">${t('join_lead', { name, login, organization })}</p></div>
      <form class="stack gap-3" novalidate @submit=${(event: Event) => void this.send(event)}>
        <input type="text" name="username" autocomplete="username" .value=${login} hidden>
        ${field({ id: 'passphrase', label: t('passphrase'), type: 'password', hint: t('passphrase_hint'), fault: this.wrong['passphrase'] || this.refused?.of('passphrase') || '', autocomplete: 'new-password', focus: true })}
        ${field({ id: 'again', label: t('passphrase_again'), type: 'password', fault: this.wrong['again'] ?? '', autocomplete: 'new-password' })}
        ${this.refused ? errorView(this.refused) : ''}<div>${button({ label: t('sign_in'), kind: 'first', submit: true })}</div></form></div>`;
  }
}
