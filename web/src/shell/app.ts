// The house: beam, two posts, the work between them, the status line.
import { LitElement, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { onSignedOut } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { startQueue, sendWaiting } from '../api/queue.js';
import { button } from '../parts/controls.js';
import { icons, mark } from '../parts/icons.js';
import { coming, errorView } from '../parts/views.js';
import { routes } from '../routes.js';
import { day, plural, t } from '../words/index.js';
import { readStatus } from './start_up.js';
import { go, startRouter, type Place } from './router.js';
import { applySettings, emptyFrame, frame, line, may, readSession, session, settings, statusLine, type Action } from './store.js';
import { ways, type Way } from './ways.js';
import type { Page } from './page.js';

@customElement('lintel-app')
export class App extends LitElement {
  @state() private place: Place | undefined;
  @state() private page: HTMLElement | undefined;
  @state() private fault: Fault | undefined;
  /** On phones the right post folds to its first action. */
  @state() private opened = false;
  private turn = 0;

  protected override createRenderRoot(): HTMLElement { return this; }

  override connectedCallback(): void {
    super.connectedCallback();
    for (const store of [frame, session, settings, statusLine, line]) store.watch(() => this.requestUpdate());
    settings.watch(() => this.nameWindow());
    frame.watch(() => this.nameWindow());
    onSignedOut(() => { session.set(undefined); void this.toSignIn(); });
    addEventListener('online', () => { if (this.fault?.status === 0) void (this.place ? this.show(this.place) : this.begin()); });
    void this.begin();
  }

  private async begin(): Promise<void> {
    this.fault = undefined;
    await applySettings();
    try {
      const needsOwner = await readStatus();
      if (!needsOwner) await readSession();
      startQueue();
      startRouter(routes, (place) => void this.show(place));
      if (needsOwner && location.pathname !== '/start') await go('/start', { replace: true });
    } catch (error) {
      this.fault = Fault.of(error);
    }
  }

  private async toSignIn(): Promise<void> {
    const here = location.pathname + location.search;
    if (location.pathname === '/sign-in') return;
    await go('/sign-in' + (here === '/' ? '' : `?to=${encodeURIComponent(here)}`), { replace: true });
  }

  private async show(place: Place): Promise<void> {
    const turn = ++this.turn;
    const again = this.place !== undefined;
    if (!session.value && place.route && !place.route.open) return this.toSignIn();
    if (session.value?.role === 'athlete' && place.path === '/') return go('/me', { replace: true });
    let page: HTMLElement | undefined;
    this.fault = undefined;
    if (place.route && (!place.route.needs || may(place.route.needs))) {
      try {
        await place.route.load();
        if (turn !== this.turn) return;
        page = document.createElement(place.route.element);
        Object.assign(page as Page, { params: place.params, query: place.query });
      } catch (error) {
        if (error instanceof TypeError && line.value.online && this.loadAgain()) return;
        this.fault = error instanceof TypeError ? new Fault(0, 'offline', '') : Fault.of(error);
      }
    } else {
      frame.set({ ...emptyFrame, place: [{ label: t(place.route ? 'fault_denied' : 'not_found') }] });
    }
    if (turn !== this.turn) return;
    this.place = place;
    this.page = page;
    this.opened = false;
    if (again) await this.moveFocus();
  }

  /** A page's module is gone when the program was renewed meanwhile: the new one is fetched, once. */
  private loadAgain(): boolean {
    if (sessionStorage.getItem('lintel-loaded-again') === location.href) return false;
    sessionStorage.setItem('lintel-loaded-again', location.href);
    location.reload();
    return true;
  }

  /** After a change of page the focus goes to its heading, so that a keyboard or a screen reader starts there. */
  private async moveFocus(): Promise<void> {
    await this.updateComplete;
    requestAnimationFrame(() => {
      const main = this.querySelector<HTMLElement>('main.work');
      if (main && !main.contains(document.activeElement)) main.focus({ preventScroll: true });
    });
  }

  private nameWindow(): void {
    const last = frame.value.place.at(-1)?.label;
    const title = last ? `${last} · Lintel` : 'Lintel';
    if (document.title !== title) document.title = title;
  }

  private beam(): TemplateResult {
    const { place } = frame.value;
    const who = session.value;
    return html`<header class="beam"><a class="mark" href="/" aria-label=${`Lintel: ${t('to_caseload')}`}>${mark}<span>Lintel</span></a>
      <nav class="place" aria-label=${t('where_you_are')}><ol>${place.map((crumb, i) => html`<li>${crumb.href && i < place.length - 1
        ? html`<a href=${crumb.href}>${crumb.label}</a>` : html`<span aria-current=${i === place.length - 1 ? 'page' : nothing}>${crumb.label}</span>`}</li>`)}</ol></nav>
      ${this.waiting()}
      ${who && !frame.value.alone ? html`<a class="who" href="/settings" aria-label="${t('settings')}: ${who.name}"><span>${who.name}</span>${icons.person}</a>` : nothing}</header>`;
  }

  private waiting(): TemplateResult | typeof nothing {
    const { online, waiting } = line.value;
    if (online && waiting === 0) return nothing;
    const words = waiting > 0 ? plural('waiting', waiting) : t('offline');
    return html`<span class="wait" role="status">${words}${online ? html` <button class="button bare" @click=${() => void sendWaiting()}>${t('send_now')}</button>` : nothing}</span>`;
  }

  private leftPost(): TemplateResult {
    const here = this.place?.path ?? '';
    const { visit, athlete } = frame.value;
    const item = (way: Way) => html`<li class=${way.rare ? 'rare' : ''}><a href=${way.href}
      aria-current=${(way.exact ? here === way.href : here === way.href || here.startsWith(way.href + '/')) ? 'page' : nothing}>${way.icon}<span>${way.label}</span></a></li>`;
    const { main, ofVisit, ofAthlete, foot } = ways(session.value, athlete, visit);
    return html`<nav class="post left" aria-label=${t('where_to_go')}><div class="ways"><ul>${main.map(item)}</ul>
      ${ofAthlete.length ? html`<p class="of">${athlete!.name}</p><ul>${ofAthlete.map(item)}</ul>` : nothing}
      ${ofVisit.length ? html`<p class="of">${t('visit_of', { day: day(visit!.date) })}</p><ul>${ofVisit.map(item)}</ul>` : nothing}
      <ul class="foot">${foot.map(item)}</ul></div></nav>`;
  }

  private rightPost(): TemplateResult {
    const { next, note } = frame.value;
    const bare = next.length === 0 && !note;
    const draw = (action: Action) => button({ label: action.label, href: action.href, act: action.act, kind: action.first ? 'first' : 'plain', icon: action.icon, disabled: action.disabled });
    const [first, others] = [next.filter((action) => action.first), next.filter((action) => !action.first)];
    const more = others.length > 0 || note;
    return html`<aside class="post right ${bare ? 'bare' : ''}" aria-label=${t('next')}>${bare ? nothing : html`<div class="next ${this.opened ? 'opened' : ''}"><h2>${t('next')}</h2>
      ${first.map(draw)}
      ${more ? html`<button class="button open ${first.length ? 'square' : 'only'}" type="button" aria-expanded=${this.opened} @click=${() => { this.opened = !this.opened; }}>${icons.more}<span class=${first.length ? 'for-ears' : ''}>${t('more_next')}</span></button>` : nothing}
      <div class="others">${others.map(draw)}</div>${note ? html`<div class="note">${note}</div>` : nothing}</div>`}</aside>`;
  }

  private work(): TemplateResult | HTMLElement {
    if (this.fault) return errorView(this.fault, () => void (this.place ? this.show(this.place) : this.begin()), true);
    if (!this.place) return coming();
    if (!this.place.route) return html`<div><div class="page-head"><h1>${t('not_found')}</h1><p class="lead">${t('not_found_words')}</p></div>${button({ label: t('to_caseload'), href: '/', kind: 'first' })}</div>`;
    if (!this.page) return html`<div><div class="page-head"><h1>${t('fault_denied')}</h1><p class="lead">${t('fault_denied_words')}</p></div>${button({ label: t('to_caseload'), href: '/', kind: 'first' })}</div>`;
    return this.page;
  }

  protected override render(): TemplateResult {
    const alone = frame.value.alone || !session.value;
    return html`<a class="skip" href="#work" @click=${(event: Event) => { event.preventDefault(); this.querySelector<HTMLElement>('main.work')?.focus(); }}>${t('skip')}</a>
      <div class="frame ${alone ? 'alone' : ''} ${frame.value.wide ? 'wide' : ''}">${this.beam()}${alone ? nothing : this.leftPost()}
      <main class="work" id="work" tabindex="-1" data-path=${this.place?.path ?? ''}>${!line.value.online && this.page ? html`<p class="kept quiet small">${t('kept_view')}</p>` : nothing}${this.work()}</main>${alone ? nothing : this.rightPost()}</div>
      <div class="status-line" role="status">${statusLine.value ? html`<p>${statusLine.value}</p>` : nothing}</div>`;
  }
}
