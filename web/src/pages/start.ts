// First start: makes the owner and the place, and signs in.
import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button, field, focusFault, formValues } from '../parts/controls.js';
import { errorView } from '../parts/views.js';
import { go } from '../shell/router.js';
import { Page } from '../shell/page.js';
import { readSession, status, type Frame } from '../shell/store.js';
import { t } from '../words/index.js';

export const shortestPassphrase = 12;

@customElement('page-start')
export class StartPage extends Page {
  @state() private wrong: Record<string, string> = {};
  @state() private refused: Fault | undefined;
  @state() private busy = false;

  protected override load(): void {
    if (status.value && !status.value.needs_owner) void go('/', { replace: true });
  }
  protected override around(): Partial<Frame> { return { place: [{ label: t('start_title') }], alone: true }; }

  private check(values: Record<string, string>): Record<string, string> {
    const wrong: Record<string, string> = {};
    for (const name of ['name', 'organization', 'login']) if (!values[name]) wrong[name] = t('must_fill');
    if ((values['passphrase'] ?? '').length < shortestPassphrase) wrong['passphrase'] = t('passphrase_short');
    else if (values['passphrase'] !== values['again']) wrong['again'] = t('passphrase_differs');
    return wrong;
  }

  private async send(event: Event): Promise<void> {
    event.preventDefault();
    const { again: _again, ...values } = formValues(event.target as HTMLFormElement) as Record<string, string>;
    this.wrong = this.check({ ...values, again: _again ?? '' });
    this.refused = undefined;
    if (Object.keys(this.wrong).length) return focusFault(this);
    this.busy = true;
    try {
      await api.post('/owner', values);
      status.set({ ...status.value!, needs_owner: false });
      await readSession();
      await go('/', { replace: true });
    } catch (error) {
      this.refused = Fault.of(error);
      focusFault(this);
    } finally {
      this.busy = false;
    }
  }

  protected override view(): TemplateResult {
    const fault = (name: string) => this.wrong[name] ?? this.refused?.of(name) ?? '';
    return html`<div><div class="page-head hang"><h1>${t('start_title')}</h1><p class="lead">${t('start_lead')}</p></div>
      <form class="stack gap-3" novalidate @submit=${(event: Event) => void this.send(event)}>
        ${field({ id: 'organization', label: t('place_name'), fault: fault('organization'), autocomplete: 'organization', required: true, focus: true })}
        ${field({ id: 'name', label: t('your_name'), fault: fault('name'), autocomplete: 'name', required: true })}
        ${field({ id: 'login', label: t('person_login'), hint: t('login_hint'), fault: fault('login'), autocomplete: 'username', required: true })}
        ${field({ id: 'passphrase', label: t('passphrase'), type: 'password', hint: t('passphrase_hint'), fault: fault('passphrase'), autocomplete: 'new-password', required: true })}
        ${field({ id: 'again', label: t('passphrase_again'), type: 'password', fault: fault('again'), autocomplete: 'new-password', required: true })}
        ${this.refused ? errorView(this.refused) : ''}
        <div>${button({ label: t('start_do'), kind: 'first', submit: true, disabled: this.busy })}</div>
      </form></div>`;
  }
}
