// Who may sign in, and with which role.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import type { CaseloadList, List, Person, Role } from '../api/types.js';
import { button, choice, field, formValues } from '../parts/controls.js';
import { openDialog } from '../parts/dialog.js';
import { icons } from '../parts/icons.js';
import { errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { say, session, type Frame } from '../shell/store.js';
import { daysFromNow, t, wordFor } from '../words/index.js';

export const roles: Role[] = ['owner', 'practitioner', 'assistant', 'athlete', 'reviewer'];

@customElement('page-people')
export class PeoplePage extends Page {
  @state() private people: Person[] = [];
  @state() private athletes: [string, string][] = [];
  @state() private adding = false;
  @state() private chosenRole: Role = 'practitioner';
  @state() private way = 'invite';
  @state() private refused: Fault | undefined;

  protected override async load(): Promise<void> {
    this.people = (await api.get<List<Person>>('/people', { signal: this.leaving.signal })).data.items;
    this.athletes = (await api.get<CaseloadList>('/athletes', { query: { limit: 500 }, signal: this.leaving.signal })).data.items.map((one) => [one.athlete, one.name]);
  }
  protected override around(): Partial<Frame> {
    return { place: [{ label: t('settings'), href: '/settings' }, { label: t('people') }],
      next: [{ label: t('add_person'), act: () => { this.adding = true; }, first: true, icon: icons.add }] };
  }

  private showInvitation(person: Person): Promise<unknown> {
    const link = `${location.origin}/join#${person.invitation!.secret}`;
    return openDialog(t('invite_link'), (close) => html`<div class="stack"><p>${t('invite_words', { name: person.name })}</p><p class="secret" tabindex="0">${link}</p>
      <div class="row end">${button({ label: t('copy'), act: () => void navigator.clipboard?.writeText(link).then(() => say(t('copied'))) })}${button({ label: t('close'), kind: 'first', act: () => close() })}</div></div>`);
  }

  private async attempt(work: () => Promise<Person>): Promise<void> {
    this.refused = undefined;
    try {
      const person = await work();
      this.adding = false;
      say(t('person_added', { name: person.name }));
      await this.load();
      if (person.invitation) await this.showInvitation(person);
    } catch (error) {
      this.refused = Fault.of(error);
    }
  }
  private add(event: Event): void {
    event.preventDefault();
    const { name, login, passphrase, athlete } = formValues(event.target as HTMLFormElement);
    const way = this.way === 'invite' ? { invite: true } : { passphrase };
    void this.attempt(async () => (await api.post<Person>('/people', { name, ...(login ? { login } : {}), role: this.chosenRole, ...way, ...(this.chosenRole === 'athlete' ? { athlete } : {}) })).data);
  }
  private async change(person: Person, change: Record<string, unknown>): Promise<void> {
    this.refused = undefined;
    try {
      const { data } = await api.put<Person>(`/people/${person.id}`, change, { version: person.version });
      say(t('saved'));
      await this.load();
      if (data.invitation) await this.showInvitation(data);
    } catch (error) {
      this.refused = Fault.of(error);
      if (this.refused.stale) await this.load().catch(() => undefined); // the next press is on what they are now
    }
  }
  private changeRole(person: Person): Promise<unknown> {
    return openDialog(t('change_role'), (close) => html`<form @submit=${(event: Event) => {
      event.preventDefault();
      void this.change(person, { role: formValues(event.target as HTMLFormElement)['new_role'] });
      close();
    }}><ul class="stack gap-1">${roles.filter((role) => role !== 'athlete').map((role) => html`<li><label class="check"><input type="radio" name="new_role" value=${role} ?checked=${role === person.role}>
      <span><strong>${wordFor('role', role)}</strong><br><span class="quiet small">${wordFor('role', role + '_words')}</span></span></label></li>`)}</ul>
      <div class="row end">${button({ label: t('no_back'), act: () => close() })}${button({ label: t('save'), kind: 'first', submit: true })}</div></form>`);
  }

  private form(): TemplateResult {
    const fault = (name: string) => this.refused?.of(name) ?? '';
    return html`<section class="course"><h2>${t('add_person')}</h2><form class="stack gap-3 measure" @submit=${(event: Event) => this.add(event)}>
      <div class="grid gap-3">${field({ id: 'name', label: t('person_name'), required: true, focus: true, fault: fault('name') })}${field({ id: 'login', label: t('person_login'), optional: true, fault: fault('login') })}</div>
      ${choice({ id: 'role', label: t('role'), value: this.chosenRole, hint: wordFor('role', this.chosenRole + '_words'), options: roles.map((role) => [role, wordFor('role', role)]), change: (value) => { this.chosenRole = value as Role; } })}
      ${this.chosenRole === 'athlete' ? field({ id: 'athlete', label: t('of_athlete'), type: 'select', options: this.athletes, fault: fault('athlete') }) : nothing}
      ${choice({ id: 'way', label: t('how_in'), value: this.way, options: [['invite', t('invite')], ['passphrase', t('set_passphrase')]], change: (value) => { this.way = value; } })}
      ${this.way === 'passphrase' ? field({ id: 'passphrase', label: t('first_passphrase'), type: 'password', autocomplete: 'new-password', hint: t('first_passphrase_hint'), required: true, fault: fault('passphrase') }) : nothing}
      <div class="row">${button({ label: t('add'), kind: 'first', submit: true })}${button({ label: t('no_back'), act: () => { this.adding = false; } })}</div></form></section>`;
  }

  protected override view(): TemplateResult {
    const own = session.value!.person;
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('people')}</h1><p class="lead">${t('people_lead')}</p></div>
      ${this.refused ? errorView(this.refused) : nothing}${this.adding ? this.form() : nothing}
      <ul class="list">${this.people.map((person) => html`<li><span class="grow"><strong>${person.name} ${person.id === own ? html`<span class="tag">${t('you')}</span>` : nothing}${person.state !== 'inactive' ? nothing : html`<span class="tag">${t('switched_off')}</span>`}</strong>
        <span class="quiet small">${person.login} · ${person.signed_in_at ? t('last_signed_in', { when: daysFromNow(person.signed_in_at) }) : t('signed_in_never')}</span></span><span>${wordFor('role', person.role)}</span>
        ${person.id === own ? nothing : html`<span class="row gap-1">${person.role === 'athlete' ? nothing : button({ label: t('change_role'), act: () => void this.changeRole(person) })}
          ${button({ label: t('invite'), act: () => void this.change(person, { invite: true }) })}
          ${button({ label: t(person.state === 'inactive' ? 'switch_on' : 'switch_off'), act: () => void this.change(person, { state: person.state === 'inactive' ? 'active' : 'inactive' }) })}</span>`}</li>`)}</ul></div>`;
  }
}
