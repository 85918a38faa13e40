// Sign in, and back to where one wanted to go.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button, field, formValues } from '../parts/controls.js';
import { errorView } from '../parts/views.js';
import { go } from '../shell/router.js';
import { Page } from '../shell/page.js';
import { readSession, session, type Frame } from '../shell/store.js';
import { t } from '../words/index.js';

@customElement('page-sign-in')
export class SignInPage extends Page {
  @state() private refused: Fault | undefined;
  @state() private busy = false;

  protected override load(): void {
    if (session.value) void this.onwards();
  }
  protected override around(): Partial<Frame> { return { place: [{ label: t('sign_in_title') }], alone: true }; }

  private async onwards(): Promise<void> {
    const to = this.query.get('to') ?? '/';
    await go(to.startsWith('/') && !to.startsWith('//') ? to : '/', { replace: true });
  }

  private async send(event: Event): Promise<void> {
    event.preventDefault();
    const { login, passphrase } = formValues(event.target as HTMLFormElement);
    this.busy = true;
    this.refused = undefined;
    try {
      await api.post('/session', { login, passphrase });
      await readSession();
      await this.onwards();
    } catch (error) {
      this.refused = Fault.of(error);
    } finally {
      this.busy = false;
    }
  }

  protected override view(): TemplateResult {
    const unknown = this.refused && (this.refused.signedOut || this.refused.denied);
    return html`<div><div class="page-head hang"><h1>${t('sign_in_title')}</h1></div>
      <form class="stack gap-3" @submit=${(event: Event) => void this.send(event)}>
        ${field({ id: 'login', label: t('login'), autocomplete: 'username', required: true, focus: true })}
        ${field({ id: 'passphrase', label: t('passphrase'), type: 'password', autocomplete: 'current-password', required: true })}
        ${unknown ? html`<div class="sign" role="alert"><strong>${t('sign_in_failed')}</strong>${this.refused!.mend ? html`<p>${this.refused!.mend}</p>` : ''}</div>`
          : this.refused ? errorView(this.refused) : ''}
        <div>${button({ label: t('sign_in'), kind: 'first', submit: true, disabled: this.busy })}</div>
      </form></div>`;
  }
}
