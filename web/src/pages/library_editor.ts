// What the editors of tests and drills share: the draft, the check by the server as one works, the picture of the drawing,
// saving, somebody else's change, leaving with something unsaved.
import { html, nothing, type TemplateResult } from 'lit';
import { state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button } from '../parts/controls.js';
import { ask } from '../parts/dialog.js';
import { askBeforeLeaving } from '../parts/leaving.js';
import { errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import { go, guardLeaving } from '../shell/router.js';
import { say, type Frame } from '../shell/store.js';
import { plural, t } from '../words/index.js';
import { bringTogether, differing, Draft, faultWords, idFrom } from './library_draft.js';
import { drawingEditor, withFigureLists } from './library_drawing.js';
import { documentOf, type CheckAnswer, type Draftable, type FieldFault, type LibraryCard } from './library_types.js';

const patience = 200; // ms from a change until the server is asked; while one drags a slider it is asked again and again

/** The id is made of the name: what is wrong with it stands there. */
const named = (faults: FieldFault[]): FieldFault[] => faults.map((one) => (one.field === 'id' ? { ...one, field: 'name' } : one));

interface Row { id: string; name: string; state?: string }
interface Conflict { theirs: LibraryCard; version: string; taken: string[]; both: string[] }

export abstract class LibraryEditor extends Page {
  protected abstract readonly kind: 'protocols' | 'drills';
  protected abstract readonly dash: '_' | '-';
  protected abstract empty(): Draftable;
  /** The document of a card as it is to be edited. */
  protected taken(card: LibraryCard): Draftable { return withFigureLists(structuredClone(documentOf(card))); }
  protected abstract form(): TemplateResult;
  protected abstract words(): { list: string; fresh: string };

  @state() protected draft!: Draft;
  protected rows: Row[] = [];
  /** The document as it was read: against it changes are told. */
  private base: Draftable = {};
  private version = '';
  private builtIn = false;
  @state() private picture = '';
  @state() private panel = 0;
  @state() private checking = false;
  /** The picture does not show the newest state: the drawing is at fault, or the server was not reached. */
  @state() private behind: '' | 'fault' | 'offline' = '';
  @state() private refused: Fault | undefined;
  @state() private conflict: Conflict | undefined;
  @state() private merged: Conflict | undefined;
  @state() private busy = false;
  private waiting: ReturnType<typeof setTimeout> | undefined;
  private again = false;
  private settled = '';

  /** The id of the own one that is edited; empty for a new one. */
  protected get own(): string { return this.params['id'] ?? ''; }
  protected get dirty(): boolean { return this.ready && differing(this.base, this.draft.document).length > 0; }

  protected override async load(): Promise<void> {
    const { signal } = this.leaving;
    const from = this.own || (this.query.get('from') ?? '');
    const [list, card] = await Promise.all([
      api.get<Record<string, Row[]>>(`/${this.kind}`, { signal, query: { archived: true } }),
      from ? api.get<LibraryCard>(`/${this.kind}/${from}`, { signal }) : undefined,
    ]);
    this.rows = list.data[this.kind] ?? [];
    this.builtIn = this.own !== '' && (card?.data.built_in ?? false);
    this.version = this.own ? (card?.etag || String(card?.data.record?.version ?? '')) : '';
    const document = card ? this.taken(card.data) : this.empty();
    if (!this.own) {
      delete document.id;
      if (card) document.name = t('lib_copy_name', { name: String(document.name) }).slice(0, 60);
    }
    this.start(document);
    this.until(askBeforeLeaving(() => this.dirty));
    this.until(() => { this.stopWaiting(); this.show(null); });
  }

  private start(document: Draftable): void {
    this.base = structuredClone(document);
    this.draft = new Draft(document, () => this.edited());
    void this.check();
  }
  private edited(): void {
    this.requestUpdate();
    this.waiting ??= setTimeout(() => void this.check(), patience);
  }

  protected override around(): Partial<Frame> {
    const name = this.own ? String(this.base.name ?? '') : this.words().fresh;
    const n = this.draft?.shown.length ?? 0;
    return {
      place: [{ label: this.words().list, href: `/${this.kind}` }, ...(this.own ? [{ label: name, href: `/${this.kind}/${this.own}` }, { label: t('lib_edit') }] : [{ label: name }])],
      next: this.ready && !this.builtIn ? [{ label: t('save'), first: true, act: () => void this.save(), disabled: this.busy },
        { label: t('lib_cancel'), href: this.own ? `/${this.kind}/${this.own}` : this.query.get('from') ? `/${this.kind}/${this.query.get('from')}` : `/${this.kind}` }] : [],
      note: !this.ready ? '' : n ? plural('lib_to_mend', n) : this.dirty ? t('lib_unsaved') : '',
    };
  }
  /** The right post says how many faults there are and whether something is unsaved. */
  protected override updated(): void {
    if (!this.ready) return;
    const now = `${this.draft.shown.length} ${this.dirty} ${this.busy}`;
    if (now === this.settled) return;
    this.settled = now;
    this.settle();
  }

  // ---- the server looks

  /** What is sent: with an id made of the name if it is new. */
  private get document(): Draftable {
    const { document } = this.draft;
    if (this.own) return document;
    return { ...document, id: idFrom(String(document.name ?? ''), this.dash, new Set(this.rows.map((row) => row.id))) };
  }

  /** One question at a time; what changed meanwhile is asked after it. */
  private async check(): Promise<void> {
    this.stopWaiting();
    if (this.checking) { this.again = true; return; }
    [this.checking, this.again] = [true, false];
    try {
      const { data } = await api.post<CheckAnswer>(`/${this.kind}/check`, this.document, { signal: this.leaving.signal, query: { changes: this.own || undefined } });
      this.draft.faults = named(data.faults);
      if (data.drawing_svg) this.show(data.drawing_svg);
      this.behind = data.drawing_svg ? '' : 'fault';
    } catch (error) {
      if (error instanceof DOMException && error.name === 'AbortError') return;
      const fault = Fault.of(error);
      this.behind = fault.offline ? 'offline' : 'fault';
      if (fault.faults.length) this.draft.faults = named(fault.faults);
    }
    this.checking = false;
    this.requestUpdate();
    if (this.again) void this.check();
  }
  private stopWaiting(): void {
    clearTimeout(this.waiting);
    this.waiting = undefined;
  }
  private show(svg: string | null): void {
    if (this.picture) URL.revokeObjectURL(this.picture);
    this.picture = svg === null ? '' : URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
  }

  // ---- saving

  private async save(): Promise<void> {
    if (this.busy) return;
    [this.busy, this.refused, this.conflict] = [true, undefined, undefined];
    this.stopWaiting();
    const { document } = this;
    try {
      const path = this.own ? `/${this.kind}/${this.own}` : `/${this.kind}`;
      if (this.own) await api.put(path, document, { version: this.version });
      else await api.post(path, document);
      guardLeaving(undefined);
      say(t('lib_saved', { name: String(document.name) }));
      await go(`/${this.kind}/${document.id ?? this.own}`, { replace: true });
    } catch (error) {
      await this.notSaved(Fault.of(error));
    } finally {
      this.busy = false;
    }
  }
  private async notSaved(fault: Fault): Promise<void> {
    this.draft.tried = true;
    if (fault.status === 412) return this.meet();
    if (fault.faults.length) this.draft.faults = named(fault.faults);
    else if (fault.place.field) this.draft.faults = named([{ field: fault.place.field, detail: fault.message, mend: fault.mend }]);
    else this.refused = fault;
    await this.updateComplete;
    requestAnimationFrame(() => this.querySelector<HTMLElement>('#to-mend, #not-saved')?.focus());
  }

  /** Somebody else saved meanwhile: what did they change, and what of it meets my changes? */
  private async meet(): Promise<void> {
    try {
      const { data, etag } = await api.get<LibraryCard>(`/${this.kind}/${this.own}`, { signal: this.leaving.signal });
      const { taken, both } = bringTogether(this.base, this.draft.document, this.taken(data));
      this.conflict = { theirs: data, version: etag || String(data.record?.version ?? ''), taken, both };
    } catch (error) {
      this.refused = Fault.of(error);
    }
    await this.updateComplete;
    requestAnimationFrame(() => this.querySelector<HTMLElement>('#not-saved')?.focus());
  }
  /** Takes over what only they changed; where both changed, mine stays. Then one looks and saves. */
  private together(): void {
    const { theirs, version } = this.conflict!;
    const { document } = bringTogether(this.base, this.draft.document, this.taken(theirs));
    this.base = this.taken(theirs);
    this.version = version;
    this.draft.document = document;
    [this.merged, this.conflict] = [this.conflict, undefined];
    this.edited();
  }
  private async theirsOnly(): Promise<void> {
    if (!await ask({ title: t('lib_theirs_sure'), words: t('lib_theirs_words'), yes: t('lib_theirs'), harm: true })) return;
    const { theirs, version } = this.conflict!;
    [this.version, this.conflict] = [version, undefined];
    this.start(this.taken(theirs));
  }
  /** Mine as another one beside theirs. */
  private async asNew(): Promise<void> {
    const document = { ...this.draft.document, name: t('lib_copy_name', { name: String(this.draft.document.name) }).slice(0, 60) };
    document.id = idFrom(document.name, this.dash, new Set(this.rows.map((row) => row.id)));
    try {
      await api.post(`/${this.kind}`, document);
      guardLeaving(undefined);
      say(t('lib_saved', { name: document.name }));
      await go(`/${this.kind}/${document.id}`, { replace: true });
    } catch (error) {
      this.conflict = undefined;
      await this.notSaved(Fault.of(error));
    }
  }

  // ---- what stands above the form

  private async jump(field: string): Promise<void> {
    const panel = /^drawing\.panels\[(\d+)\]/.exec(field);
    if (panel) this.panel = Number(panel[1]);
    await this.updateComplete;
    const place = this.draft.placeOf(field);
    const element = place === undefined ? null : document.getElementById(place);
    element?.closest('details')?.setAttribute('open', '');
    element?.scrollIntoView({ block: 'center' });
    element?.focus();
  }
  /** The page is long: a short way to each of its sections. */
  private contents(): TemplateResult {
    const to = (event: Event, id: string) => {
      event.preventDefault();
      const section = document.getElementById(id);
      section?.scrollIntoView({ block: 'start' });
      section?.focus({ preventScroll: true });
    };
    return html`<nav class="contents" aria-label=${t('lib_sections')}><ul>${this.draft.sections.map(({ id, title }) => html`<li><a class="button bare" href="#${id}" @click=${(event: Event) => to(event, id)}>${title}</a></li>`)}</ul></nav>`;
  }
  private faultList(): TemplateResult | typeof nothing {
    const { shown } = this.draft;
    if (shown.length === 0) return nothing;
    const name = (field: string) => this.draft.labels.get(this.draft.placeOf(field) ?? '') ?? '';
    return html`<div class="sign" id="to-mend" tabindex="-1" role="group" aria-labelledby="to-mend-title"><strong id="to-mend-title">${plural('lib_to_mend', shown.length)}</strong>
      <ul class="mend-list">${shown.map((fault) => html`<li><button type="button" class="button bare" @click=${() => void this.jump(fault.field)}>${name(fault.field) || fault.field}</button><span>${faultWords(fault)}</span></li>`)}</ul></div>`;
  }
  private conflictView(): TemplateResult | typeof nothing {
    const names = (keys: string[]) => keys.map((key) => this.draft.labels.get(key) ?? key).join(', ');
    if (this.merged) {
      return html`<div class="sign real" role="status"><strong>${t('lib_merged')}</strong>${this.merged.taken.length ? html`<p>${t('lib_merged_taken', { what: names(this.merged.taken) })}</p>` : nothing}
        ${this.merged.both.length ? html`<p>${t('lib_merged_both', { what: names(this.merged.both) })}</p>` : nothing}</div>`;
    }
    if (!this.conflict) return nothing;
    const { taken, both } = this.conflict;
    return html`<div class="sign" role="alert" id="not-saved" tabindex="-1"><strong>${t('fault_stale')}</strong><p>${t('lib_conflict')}</p>
      ${taken.length ? html`<p>${t('lib_conflict_taken', { what: names(taken) })}</p>` : nothing}${both.length ? html`<p>${t('lib_conflict_both', { what: names(both) })}</p>` : nothing}
      <div class="row gap-1">${button({ label: t('lib_together'), act: () => this.together() })}${button({ label: t('lib_as_new'), act: () => void this.asNew() })}
        <a class="button" href="/${this.kind}/${this.own}" target="_blank" rel="noopener">${t('lib_see_theirs')}</a>${button({ label: t('lib_theirs'), kind: 'bare', act: () => void this.theirsOnly() })}</div></div>`;
  }

  protected drawing(): TemplateResult {
    const { draft } = this;
    const picture = html`<figure class="preview" aria-busy=${this.checking ? 'true' : 'false'}>${this.picture ? html`<img class="drawing" src=${this.picture} alt=${t('drawing_of', { name: String(draft.document.name || t('lib_unnamed')) })}>` : nothing}
      <figcaption class="quiet small">${this.behind === 'fault' ? t('lib_picture_fault') : this.behind === 'offline' ? t('lib_picture_offline') : t('lib_picture_follows')}</figcaption></figure>`;
    return drawingEditor({ draft, panel: this.panel, picture, choose: (panel) => { this.panel = panel; } });
  }

  protected override view(): TemplateResult {
    const { name } = this.draft.document;
    if (this.builtIn) {
      return html`<div class="stack gap-3"><div class="page-head"><h1>${name}</h1><p class="lead">${t('lib_built_in_words')}</p></div>
        <div class="row">${button({ label: t('lib_make_own'), href: `/${this.kind}/new?from=${this.own}`, kind: 'first' })}</div></div>`;
    }
    this.draft.labels.clear();
    this.draft.sections.length = 0;
    const form = this.form(); // first: the list above names its fields
    return html`<div class="library-editor stack gap-4" ?inert=${this.busy}><div class="page-head"><h1>${this.own ? name || t('lib_unnamed') : this.words().fresh}</h1><p class="lead">${t('lib_editor_lead')}</p></div>
      ${this.conflictView()}${this.refused ? html`<div id="not-saved" tabindex="-1">${errorView(this.refused)}</div>` : nothing}${this.faultList()}${this.contents()}${form}
      <div class="row">${button({ label: t('save'), disabled: this.busy, act: () => void this.save() })}</div></div>`;
  }

}
