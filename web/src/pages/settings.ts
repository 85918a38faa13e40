// This device, the own account, this place.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { dropEverythingKept, dropWaiting, sendWaiting, waitingWrites, type Waiting } from '../api/queue.js';
import type { Organization } from '../api/types.js';
import { button, choice, field, formValues } from '../parts/controls.js';
import { ask, openDialog } from '../parts/dialog.js';
import { icons } from '../parts/icons.js';
import { errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { go } from '../shell/router.js';
import { changeSettings, line, may, readSession, say, session, settings, status, type DeviceSettings, type Frame } from '../shell/store.js';
import { languages, moment, t, wordFor } from '../words/index.js';
import { shortestPassphrase } from './start.js';

@customElement('page-settings')
export class SettingsPage extends Page {
  @state() private organization: Organization | undefined;
  @state() private waiting: Waiting[] = [];
  @state() private refused: Fault | undefined;

  protected override async load(): Promise<void> {
    this.until(line.watch(() => void this.readWaiting()));
    await this.readWaiting();
    this.organization = (await api.get<Organization>('/organization', { signal: this.leaving.signal }).catch(() => undefined))?.data;
  }
  private async readWaiting(): Promise<void> { this.waiting = await waitingWrites().catch(() => []); }
  protected override around(): Partial<Frame> {
    return { place: [{ label: t('settings') }], next: [{ label: t('sign_out'), act: () => void this.signOut(), icon: icons.lock }] };
  }

  private async signOut(): Promise<void> {
    if (this.waiting.length && !await ask({ title: t('sign_out_waiting'), words: t('sign_out_waiting_words'), yes: t('sign_out_anyway'), harm: true })) return;
    try {
      await api.delete('/session');
    } catch (error) {
      if (!Fault.of(error).signedOut) { this.refused = Fault.of(error); return; }
    }
    await dropEverythingKept();
    session.set(undefined);
    await go('/sign-in');
    say(t('signed_out'));
  }

  private changePassphrase(): Promise<unknown> {
    return openDialog(t('change_passphrase'), (close) => {
      const send = async (event: Event) => {
        event.preventDefault();
        const form = event.target as HTMLFormElement;
        const { current, passphrase = '' } = formValues(form);
        const tell = (words: string) => { form.querySelector('[role="alert"]')!.textContent = words; };
        if (passphrase.length < shortestPassphrase) return tell(t('passphrase_short'));
        try {
          await api.put('/session/passphrase', { old: current, new: passphrase });
          await readSession();
          say(t('passphrase_changed'));
          close();
        } catch (error) {
          const fault = Fault.of(error);
          tell([fault.message, fault.mend].filter(Boolean).join(' '));
        }
      };
      return html`<form @submit=${(event: Event) => void send(event)}>
        ${field({ id: 'current', label: t('old_passphrase'), type: 'password', autocomplete: 'current-password', required: true })}
        ${field({ id: 'passphrase', label: t('new_passphrase'), type: 'password', hint: t('passphrase_hint'), autocomplete: 'new-password', required: true })}
        <p class="rust strong" role="alert"></p>
        <div class="row end">${button({ label: t('no_back'), act: () => close() })}${button({ label: t('save'), kind: 'first', submit: true })}</div></form>`;
    });
  }

  private async rename(event: Event): Promise<void> {
    event.preventDefault();
    const { organization } = formValues(event.target as HTMLFormElement);
    try {
      this.refused = undefined;
      this.organization = (await api.put<Organization>('/organization', { name: organization }, { version: this.organization!.version })).data;
      say(t('organization_saved'));
    } catch (error) {
      this.refused = Fault.of(error);
      if (this.refused.stale) this.organization = (await api.get<Organization>('/organization').catch(() => undefined))?.data ?? this.organization;
    }
  }

  private device(): TemplateResult {
    const { units, language, theme } = settings.value;
    const change = <K extends keyof DeviceSettings>(key: K) => (value: string) => void changeSettings({ [key]: value as DeviceSettings[K] });
    return html`<section class="course"><h2>${t('this_device')}</h2><div class="stack gap-3">
      ${choice({ id: 'units', label: t('units'), value: units, options: [['metric', t('units_metric')], ['imperial', t('units_imperial')]], change: change('units') })}
      ${choice({ id: 'language', label: t('language'), value: language, options: Object.entries(languages), change: change('language') })}
      ${choice({ id: 'theme', label: t('theme'), value: theme, options: [['system', t('theme_system')], ['light', t('theme_light')], ['dark', t('theme_dark')]], change: change('theme') })}</div></section>`;
  }

  private waits(): TemplateResult | typeof nothing {
    if (this.waiting.length === 0) return nothing;
    return html`<section class="course"><header><h2>${t('waits_here')}</h2><span class="aside">${button({ label: t('send_now'), act: () => void sendWaiting() })}</span></header>
      <ul class="list">${this.waiting.map((one) => html`<li><span class="grow"><strong>${one.what}</strong><span class="quiet small">${moment(one.made)}</span>${one.fault ? html`<span class="fault-line">${one.fault}</span>` : nothing}</span>
        ${button({ label: t('drop'), kind: 'harm', act: () => void (async () => { if (await ask({ title: t('drop_sure'), words: t('drop_words'), yes: t('drop'), harm: true })) await dropWaiting(one.id); })() })}</li>`)}</ul></section>`;
  }

  protected override view(): TemplateResult {
    const who = session.value;
    if (!who) return html``; // just signed out
    const way = (href: string, label: string, icon: TemplateResult) => html`<li><a class="through" href=${href}>${icon}<span>${label}</span></a></li>`;
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('settings')}</h1></div>
      ${this.refused ? errorView(this.refused) : nothing}${this.waits()}
      <div class="two">${this.device()}
      <section class="course"><h2>${t('your_account')}</h2><p><strong>${who.name}</strong> <span class="quiet">${who.login}</span><br><span class="quiet">${wordFor('role', who.role)}: ${wordFor('role', who.role + '_words')}</span></p>
        <div class="row">${button({ label: t('change_passphrase'), act: () => void this.changePassphrase() })}${button({ label: t('sessions'), href: '/settings/sessions' })}</div></section></div>
      <section class="course"><h2>${t('this_place')}</h2>
        ${may('administer') && this.organization ? html`<form class="row bottom measure" @submit=${(event: Event) => void this.rename(event)}><div class="grow">${field({ id: 'organization', label: t('organization'), value: this.organization.name, fault: this.refused?.of('name') ?? '', required: true })}</div>${button({ label: t('save'), submit: true })}</form>`
          : html`<p>${who.organization_name}</p>`}
        <ul class="list">${may('administer') ? way('/settings/people', t('people'), icons.person) : nothing}
          ${may('administer') ? way('/settings/safekeeping', t('safekeeping'), icons.take_out) : nothing}
          ${may('read_audit') ? way('/settings/audit', t('audit'), icons.report) : nothing}
          ${way('/settings/tokens', t('tokens'), icons.lock)}${way('/protocols', t('protocols'), icons.tests)}${way('/drills', t('drills'), icons.drills)}</ul></section>
      <p class="quiet small">${t('version', { version: status.value?.version ?? '' })} · <a href="/licenses.txt" target="_blank">${t('licenses')}</a></p></div>`;
  }
}
