// Backups, and athletes brought in from elsewhere.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import type { Backup, List } from '../api/types.js';
import { button, field, formValues } from '../parts/controls.js';
import { emptyState, errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { say, type Frame } from '../shell/store.js';
import { moment, t } from '../words/index.js';
import { shortestPassphrase } from './start.js';

@customElement('page-safekeeping')
export class SafekeepingPage extends Page {
  @state() private backups: Backup[] = [];
  @state() private refused: Fault | undefined;
  @state() private wrong = '';
  @state() private busy = false;

  protected override async load(): Promise<void> {
    this.backups = (await api.get<List<Backup>>('/backups', { signal: this.leaving.signal })).data.items;
  }
  protected override around(): Partial<Frame> { return { place: [{ label: t('settings'), href: '/settings' }, { label: t('safekeeping') }] }; }

  private async attempt(work: () => Promise<void>): Promise<void> {
    this.refused = undefined;
    this.busy = true;
    try {
      await work();
    } catch (error) {
      this.refused = Fault.of(error);
    } finally {
      this.busy = false;
    }
  }
  private make(event: Event): void {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const { passphrase = '' } = formValues(form);
    this.wrong = passphrase.length < shortestPassphrase ? t('passphrase_short') : '';
    if (this.wrong) return;
    void this.attempt(async () => {
      await api.post('/backups', { passphrase });
      form.reset();
      say(t('backup_made'));
      await this.load();
    });
  }
  private bringIn(event: Event): void {
    const input = event.target as HTMLInputElement;
    const bundle = input.files?.[0];
    if (!bundle) return;
    void this.attempt(async () => {
      await api.post('/imports', bundle, { headers: { 'Content-Type': 'application/zip' } });
      say(t('imported'));
      input.value = '';
    });
  }
  private when(one: Backup): string {
    const stamp = /(\d{4})(\d\d)(\d\d)T(\d\d)(\d\d)(\d\d)Z/.exec(one.name ?? '');
    return stamp ? moment(`${stamp[1]}-${stamp[2]}-${stamp[3]}T${stamp[4]}:${stamp[5]}:${stamp[6]}Z`) : '';
  }

  protected override view(): TemplateResult {
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('safekeeping')}</h1><p class="lead">${t('backup_lead')}</p></div>
      ${this.refused ? errorView(this.refused) : nothing}
      <form class="stack gap-2 measure" novalidate @submit=${(event: Event) => this.make(event)}>
        ${field({ id: 'passphrase', label: t('backup_passphrase'), type: 'password', autocomplete: 'new-password', hint: t('backup_passphrase_hint'), fault: this.wrong || (this.refused?.of('passphrase') ?? ''), required: true })}
        <div>${button({ label: t('backup_now'), kind: 'first', submit: true, disabled: this.busy })}</div></form>
      <section class="course"><h2>${t('backups')}</h2>${this.backups.length ? html`<ul class="list">${this.backups.map((one) => html`<li><span class="grow"><strong>${this.when(one) || one.name}</strong><span class="quiet small">${one.name}</span></span>
        ${one.bytes ? html`<span class="quiet">${(one.bytes / 1e6).toFixed(1)} MB</span>` : nothing}</li>`)}</ul><p class="quiet small">${t('restore_words')}</p>` : emptyState({ title: t('no_backups'), words: t('no_backups_words') })}</section>
      <section class="course"><h2>${t('imports')}</h2><p class="quiet">${t('import_words')}</p><div class="field measure"><label for="bundle">${t('import_do')}</label><div class="well"><input id="bundle" type="file" accept=".zip,application/zip" @change=${(event: Event) => this.bringIn(event)}></div></div></section></div>`;
  }
}
