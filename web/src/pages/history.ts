// Earlier versions of one record: who changed what, when and why; an earlier one can be brought back as a new one.
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { same } from '../api/same.js';
import type { Intake, List, ProtocolRow, RecordOf, Visit } from '../api/types.js';
import { button } from '../parts/controls.js';
import { askLine } from '../parts/dialog.js';
import { changesOf, linesOf, type Change, type Line, type Names } from '../parts/history_words.js';
import { icons } from '../parts/icons.js';
import { protocolName } from '../parts/library_names.js';
import { emptyState, errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { keepInAddress } from '../shell/router.js';
import { may, say, type Frame } from '../shell/store.js';
import { day, moment, t, wordFor } from '../words/index.js';
import { wayBack, type Way } from './history_back.js';

type Version = RecordOf<Record<string, unknown>> & { changed_by_name: string | null };
const atTheMachine = '00000000-0000-0000-0000-000000000000';
const mostRows = 40;

@customElement('page-history')
export class HistoryPage extends Page {
  @state() private versions: Version[] = [];
  @state() private chosen = 0;
  @state() private refused: Fault | undefined;
  @state() private busy = false;
  private names: Names = {};
  private athlete: { id: string; name: string } | undefined;
  private visit: { id: string; date: string } | undefined;

  private get newest(): Version | undefined { return this.versions.at(-1); }
  private get kind(): string { return this.newest?.kind ?? ''; }

  protected override async load(): Promise<void> {
    const { signal } = this.leaving;
    this.versions = (await api.get<List<Version>>(`/records/${this.params['record']}/versions`, { signal })).data.items;
    const wanted = Number(this.query.get('version'));
    this.chosen = this.versions.some((one) => one.version === wanted) ? wanted : this.newest!.version;
    await this.lookAround();
  }

  // Names of the people and tests around it; an assistant may not see all of them, and then they are left out.
  private async lookAround(): Promise<void> {
    const { signal } = this.leaving;
    const newest = this.newest!;
    const visit = newest.kind === 'visit' ? newest.id : newest.parent ?? (newest.document['visit'] as string | undefined);
    const orNone = <T>(asked: Promise<{ data: T }>): Promise<T | undefined> => asked.then((answer) => answer.data, () => undefined);
    const [athlete, at, protocols] = await Promise.all([
      newest.athlete ? orNone(api.get<RecordOf<Intake>>(`/athletes/${newest.athlete}`, { signal })) : undefined,
      visit ? orNone(api.get<RecordOf<Visit>>(`/visits/${visit}`, { signal })) : undefined,
      newest.kind === 'tests' ? orNone(api.get<{ protocols: ProtocolRow[] }>('/protocols', { signal, query: { archived: true } })) : undefined,
    ]);
    if (newest.athlete) this.athlete = { id: newest.athlete, name: athlete?.document.athlete.name ?? '' };
    if (at) this.visit = { id: at.id, date: at.document.date };
    this.names = Object.fromEntries((protocols?.protocols ?? []).map((one) => [one.id, protocolName(one)]));
  }

  /** The screen that shows the record itself. */
  private get place(): string {
    const base = this.visit ? `/visits/${this.visit.id}` : '';
    const athlete = this.athlete ? `/athletes/${this.athlete.id}` : '/';
    const places: Record<string, string> = {
      athlete: may('write_records') ? `${athlete}/body` : athlete, visit: base, tests: `${base}/tests`, trial: `${base}/film/${this.params['record']}`, overrulings: `${base}/why`, plan: `${base}/plan`,
      protocol: `/protocols/${String(this.newest?.document['id'] ?? '')}`, drill: `/drills/${String(this.newest?.document['id'] ?? '')}`,
    };
    return places[this.kind] || athlete;
  }
  private get what(): string { return wordFor('history_kind', this.kind); }

  protected override around(): Partial<Frame> {
    if (!this.newest) return { place: [{ label: t('versions') }] };
    const place = [
      ...(this.athlete?.name ? [{ label: this.athlete.name, href: `/athletes/${this.athlete.id}` }] : []),
      ...(this.visit ? [{ label: day(this.visit.date), href: `/visits/${this.visit.id}` }] : []),
      ...(this.kind === 'visit' || this.kind === 'athlete' ? [] : [{ label: this.what, href: this.place }]), { label: t('versions') }];
    const next: Frame['next'] = [{ label: t('history_to'), href: this.place, icon: icons.onwards, first: !this.mayBringBack }];
    if (this.mayBringBack) next.unshift({ label: t('history_bring_back', { n: this.chosen }), first: true, act: () => void this.bringBack(), disabled: this.busy });
    return { place, next, ...(this.athlete?.name ? { athlete: this.athlete } : {}), ...(this.visit ? { visit: this.visit } : {}) };
  }

  private choose(version: number): void {
    this.chosen = version;
    keepInAddress({ version: String(version) });
    this.settle();
  }

  // ---- bringing one back

  private get way(): Way | undefined {
    const way = wayBack(this.kind, this.params['record']!, this.newest?.parent ?? undefined);
    return way && may(way.permission) ? way : undefined;
  }
  private get mayBringBack(): boolean {
    const [way, newest, old] = [this.way, this.newest, this.versions.find((one) => one.version === this.chosen)];
    return way !== undefined && newest !== undefined && old !== undefined && old !== newest && !same(way.counts(old), way.counts(newest));
  }

  private async bringBack(): Promise<void> {
    const old = this.versions.find((one) => one.version === this.chosen);
    const way = this.way;
    if (!old || !way) return;
    const n = old.version;
    const reason = await askLine({ title: t('history_bring_title', { n }), words: `${t('history_bring_words')} ${way.words ? t(way.words) : ''}`.trim(), label: t('history_bring_reason'), yes: t('history_bring_back', { n }) });
    if (!reason) return;
    this.busy = true;
    this.refused = undefined;
    try {
      const newest = this.newest!;
      await api.put(way.path, way.body(old, newest, reason), { version: newest.version, ...(way.ownReason ? {} : { query: { reason: t('history_reason_text', { n, reason }) } }) });
      keepInAddress({ version: undefined });
      this.query = new URLSearchParams();
      await this.reload();
      say(t('history_brought', { n }));
    } catch (error) {
      this.refused = Fault.of(error);
    } finally {
      this.busy = false;
      this.settle();
    }
  }

  // ---- what is seen

  private who(version: Version): string {
    return version.changed_by_name ?? (version.changed_by === atTheMachine ? t('history_machine') : t('history_unknown'));
  }
  private lines(version: Version): Line[] {
    const lines = linesOf(this.kind, version.document, this.names);
    return [...lines, { key: 'record.state', label: t('field_state'), text: wordFor('record_state', version.state) }];
  }
  /** The newest other version with the same document. */
  private sameAs(version: number): number | undefined {
    const text = (one: Version) => JSON.stringify([one.document, one.state]);
    const own = this.versions.find((one) => one.version === version);
    return own && this.versions.filter((one) => one.version !== version && text(one) === text(own)).at(-1)?.version;
  }

  protected override view(): TemplateResult {
    const newest = this.newest!;
    const title = this.athlete?.name && this.kind !== 'athlete' ? `${this.what}, ${this.athlete.name}` : this.athlete?.name || this.what;
    return html`<div class="stack gap-4"><div class="page-head"><h1>${t('history_title', { what: title })}</h1><p class="lead">${t('history_lead')}</p></div>
      ${this.refused ? errorView(this.refused, this.refused.stale ? () => void this.reload().then(() => { this.refused = undefined; }) : undefined) : nothing}
      ${this.versions.length < 2 ? emptyState({ title: t('history_one'), words: t('history_one_words'), step: button({ label: t('history_to'), href: this.place }) }) : nothing}
      <div class="history"><section aria-labelledby="versions"><h2 id="versions" class="for-ears">${t('history_list')}</h2>
        <ol class="versions" reversed>${[...this.versions].reverse().map((one) => this.row(one, newest.version))}</ol></section>
      ${this.detail(this.versions.find((one) => one.version === this.chosen) ?? newest)}</div></div>`;
  }

  private row(version: Version, newest: number): TemplateResult {
    const n = version.version;
    return html`<li><button class="version" aria-pressed=${n === this.chosen ? 'true' : 'false'} @click=${() => this.choose(n)}>
      <span class="row between gap-1"><strong>${t('history_version', { n })}</strong>${n === newest ? html`<span class="tag">${t('history_newest')}</span>` : n === 1 ? html`<span class="tag">${t('history_first')}</span>` : nothing}</span>
      <span class="quiet small">${day(version.changed_at)}, ${moment(version.changed_at).split(', ').at(-1)} · ${t('history_by', { who: this.who(version) })}</span>
      ${version.reason ? html`<span class="small">${version.reason}</span>` : nothing}</button></li>`;
  }

  private detail(version: Version): TemplateResult {
    const n = version.version;
    const before = this.versions.find((one) => one.version === n - 1);
    const lines = this.lines(version);
    const changes = before ? changesOf(this.lines(before), lines) : [];
    const same = this.sameAs(n);
    return html`<section class="course" aria-labelledby="changes" role="status"><header><h2 id="changes">${before ? t('history_changes', { n }) : t('history_begun', { n })}</h2>
        ${same !== undefined && same < n ? html`<span class="tag">${t('history_same_as', { n: same })}</span>` : nothing}</header>
      ${!before ? this.whole(lines) : changes.length === 0 ? html`<p class="quiet">${t('history_same')}</p>` : this.table(changes)}
      ${before ? html`<details class="numbers"><summary>${t('history_whole', { n })}</summary>${this.whole(lines)}</details>` : nothing}
      ${this.mayBringBack && n === this.chosen ? html`<div>${button({ label: t('history_bring_back', { n }), act: () => void this.bringBack(), disabled: this.busy })}</div>` : nothing}</section>`;
  }

  private table(changes: readonly Change[]): TemplateResult {
    const cell = (text: string | undefined) => text ?? html`<span class="quiet">${t('history_nothing')}</span>`;
    return html`<div class="table-wrap"><table class="table changes"><thead><tr><th scope="col">${t('history_field')}</th><th scope="col">${t('history_before')}</th><th scope="col">${t('history_after')}</th></tr></thead>
      <tbody>${changes.slice(0, mostRows).map((one) => html`<tr data-key=${one.key}><th scope="row">${one.label}</th><td class="was">${cell(one.before)}</td><td class="is">${cell(one.after)}</td></tr>`)}</tbody></table></div>
      ${changes.length > mostRows ? html`<p class="small quiet">${t('history_further', { n: changes.length - mostRows })}</p>` : nothing}`;
  }

  private whole(lines: readonly Line[]): TemplateResult {
    return html`<dl class="terms">${lines.slice(0, 4 * mostRows).map((line) => html`<dt>${line.label}</dt><dd>${line.text}</dd>`)}</dl>
      ${lines.length > 4 * mostRows ? html`<p class="small quiet">${t('history_further', { n: lines.length - 4 * mostRows })}</p>` : nothing}`;
  }
}
