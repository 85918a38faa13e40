// Who is here today, who is due, who stalled, who is new; everybody by name.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import type { CaseloadList, CaseloadRow, CaseloadView } from '../api/types.js';
import { button } from '../parts/controls.js';
import { icons } from '../parts/icons.js';
import '../parts/plumb.js';
import { quantity } from '../parts/quantity.js';
import { emptyState } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { keepInAddress } from '../shell/router.js';
import { may, type Frame } from '../shell/store.js';
import { age, day, daysFromNow, plural, t, today, wordFor } from '../words/index.js';

type Title = 'here_today' | 'due' | 'stalled' | 'new_ones' | 'all_athletes' | 'archived';
const views: [CaseloadView, Title][] = [['today', 'here_today'], ['due', 'due'], ['stalled', 'stalled'], ['new', 'new_ones'], ['all', 'all_athletes']];
const few = 4;

@customElement('page-caseload')
export class CaseloadPage extends Page {
  @state() private lists: Partial<Record<CaseloadView, CaseloadList>> = {};
  @state() private found: CaseloadList | undefined;
  @state() private search = '';
  private only: CaseloadView | undefined;
  private typing: ReturnType<typeof setTimeout> | undefined;

  protected override around(): Partial<Frame> {
    const next = may('write_records') ? [{ label: t('new_athlete'), href: '/athletes/new', first: true, icon: icons.add }] : [];
    return { place: [{ label: t('caseload') }], next };
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.typing);
  }

  private list(view: CaseloadView, query: Record<string, string | number> = {}): Promise<CaseloadList> {
    return api.get<CaseloadList>('/athletes', { query: { view, ...query }, signal: this.leaving.signal }).then((answer) => answer.data);
  }

  protected override async load(): Promise<void> {
    this.only = views.map(([view]) => view).find((view) => view === this.query.get('view')) ?? (this.query.get('view') === 'archived' ? 'archived' : undefined);
    this.search = this.query.get('q') ?? '';
    const wanted = this.only ? [this.only] : views.map(([view]) => view);
    const lists = await Promise.all(wanted.map((view) => this.list(view, this.only || view === 'all' ? { limit: 50 } : { limit: few })));
    this.lists = Object.fromEntries(wanted.map((view, i) => [view, lists[i]!]));
    if (this.search) await this.find(this.search);
  }

  private typed(text: string): void {
    this.search = text;
    clearTimeout(this.typing);
    this.typing = setTimeout(() => void this.find(text), 120);
  }
  private async find(text: string): Promise<void> {
    if (location.pathname !== '/') return; // somebody was chosen meanwhile: the address is another page's now
    keepInAddress({ q: text.trim() || undefined });
    const found = text.trim() ? await this.list('all', { q: text.trim(), limit: 30 }).catch(() => undefined) : undefined;
    if (text === this.search) this.found = found;
  }
  private async more(view: CaseloadView): Promise<void> {
    const before = this.lists[view]!;
    const after = await this.list(view, { limit: 50, after: before.next ?? '' });
    this.lists = { ...this.lists, [view]: { ...after, items: [...before.items, ...after.items] } };
  }

  /** Why somebody stands under "stalled": what the server goes by. */
  private stalled(row: CaseloadRow): string {
    return !row.last_visit || row.last_visit < today(new Date(Date.now() - 42 * 86400000)) ? t('stalled_no_visit') : t('stalled_no_session');
  }

  private about(row: CaseloadRow, view?: CaseloadView): string {
    const years = row.birth_date ? age(row.birth_date) : undefined;
    const parts = [years === undefined ? '' : plural('years', years),
      row.last_session && row.last_session > (row.last_visit ?? '') ? t('session_last', { when: daysFromNow(row.last_session) })
        : row.last_visit ? t('last_seen', { when: daysFromNow(row.last_visit) }) : t('never_seen'),
      view === 'stalled' ? this.stalled(row) : ''];
    return parts.filter(Boolean).join(' · ');
  }

  private row(row: CaseloadRow, view?: CaseloadView): TemplateResult {
    if (!may('read_records')) return html`<li><a class="person" href="/athletes/${row.athlete}"><span></span><span class="who-is"><span class="name">${row.name}</span></span></a></li>`;
    const measured = row.last_trunk_deg !== null && row.last_trunk_deg !== undefined;
    const late = row.next_due && row.next_due < today();
    return html`<li><a class="person" href="/athletes/${row.athlete}">
      <lt-plumb mute .deg=${row.last_trunk_deg ?? undefined} .error=${row.last_trunk_error_deg ?? undefined}></lt-plumb>
      <span class="who-is"><span class="name">${row.name}</span><span class="quiet small">${this.about(row, view)}</span></span>
      <span class="due-when ${late ? 'late' : ''}">${row.next_due ? t(late ? 'due_since' : 'due_on', { what: wordFor('due_what', row.due_what ?? 'visit'), when: daysFromNow(row.next_due) }) : nothing}</span>
      <span class="lean">${measured ? html`<span class="for-ears">${t('trunk_at_bottom')} </span>${quantity({ value: row.last_trunk_deg, error: row.last_trunk_error_deg, unit: 'deg', size: 'large' })}` : html`<span class="quiet small">${t('not_measured')}</span>`}</span>
    </a></li>`;
  }

  private course(view: CaseloadView, title: string): TemplateResult | typeof nothing {
    const list = this.lists[view];
    if (!list) return nothing;
    const count = list.counts?.[view] ?? list.items.length;
    if (list.items.length === 0 && view !== 'today') return nothing;
    const cut = !this.only && view !== 'all' && count > list.items.length;
    return html`<section class="course" aria-labelledby="c-${view}"><header><h2 id="c-${view}">${title}</h2><span class="quiet">${count}</span>
      ${cut ? html`<a class="aside" href="/?view=${view}">${t('show_all', { n: count })}<span class="for-ears">: ${title}</span></a>` : nothing}</header>
      ${list.items.length ? html`<ul class="people">${list.items.map((row) => this.row(row, view))}</ul>`
        : html`<p class="quiet">${t('none_today')} ${t('none_today_words')}</p>`}
      ${list.next && !cut ? html`<div>${button({ label: t('more'), act: () => void this.more(view) })}</div>` : nothing}</section>`;
  }

  private body(): TemplateResult {
    if (this.found) {
      return this.found.items.length ? html`<section class="course"><h2>${t('found')}</h2><ul class="people">${this.found.items.map((row) => this.row(row))}</ul></section>`
        : emptyState({ title: t('search_none'), words: t('search_none_words'), step: may('write_records') ? button({ label: t('new_athlete'), href: '/athletes/new?name=' + encodeURIComponent(this.search), icon: icons.add }) : html`` });
    }
    if (!this.only && this.lists.all?.items.length === 0) {
      return emptyState({ title: t('caseload_empty'), words: t('caseload_empty_words'), step: may('write_records') ? button({ label: t('new_athlete'), href: '/athletes/new', icon: icons.add }) : html`` });
    }
    const shown: [CaseloadView, Title][] = this.only ? [[this.only, views.find(([view]) => view === this.only)?.[1] ?? 'archived']] : views;
    return html`<div class="stack gap-4">${shown.map(([view, key]) => this.course(view, t(key)))}
      ${!this.only && (this.lists.all?.counts.archived ?? 0) > 0 ? html`<p><a href="/?view=archived">${t('archived')} (${this.lists.all!.counts.archived})</a></p>` : nothing}
      ${this.only ? html`<p><a href="/">${t('to_caseload')}</a></p>` : nothing}</div>`;
  }

  protected override view(): TemplateResult {
    const now = new Date();
    return html`<div><div class="page-head"><h1><span class="weekday">${new Intl.DateTimeFormat(document.documentElement.lang, { weekday: 'long' }).format(now)}</span>, ${day(today(now), 'long')}</h1>
      <div class="search" role="search"><label class="for-ears" for="search">${t('search_athletes')}</label><div class="well">${icons.search}
        <input id="search" type="search" autocomplete="off" placeholder=${t('search_athletes')} .value=${this.search} @input=${(event: Event) => this.typed((event.target as HTMLInputElement).value)}></div></div></div>
      ${this.body()}</div>`;
  }
}
