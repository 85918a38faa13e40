// What every page is: an element in the light DOM (labels and focus just work) that says where it is and what comes next.
import { LitElement, html, type TemplateResult } from 'lit';
import { state } from 'lit/decorators.js';
import { Fault } from '../api/fault.js';
import { coming, errorView } from '../parts/views.js';
import type { Params } from '../routes.js';
import { emptyFrame, frame, settings, type Frame } from './store.js';

export abstract class Page extends LitElement {
  /** Set by the shell before the first drawing. */
  params: Params = {};
  query = new URLSearchParams();
  /** Ends when the page is left: give it to every request. */
  protected readonly leaving = new AbortController();
  @state() protected fault: Fault | undefined;
  @state() protected ready = false;
  private endings: (() => void)[] = [];
  private loading: Promise<void> = Promise.resolve();
  private next: Promise<void> | undefined;
  private retrying: ReturnType<typeof setTimeout> | undefined;
  private pause = 1000; // ms until it is tried again

  protected override createRenderRoot(): HTMLElement { return this; }

  override connectedCallback(): void {
    super.connectedCallback();
    this.until(settings.watch(() => { this.settle(); this.requestUpdate(); }));
    const back = () => this.tryAgain();
    addEventListener('online', back);
    this.until(() => { removeEventListener('online', back); clearTimeout(this.retrying); });
    this.settle();
    void this.reload();
  }
  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.leaving.abort();
    for (const end of this.endings.splice(0)) end();
  }

  /** Runs when the page is left. */
  protected until(end: () => void): void { this.endings.push(end); }

  /** Fetches what the page shows; drawn after it. Throws Fault. */
  protected load(): Promise<void> | void {}
  /** What the beam and the right post show; called before load, after load and when the language changes. */
  protected around(): Partial<Frame> { return {}; }
  /** The page itself, once loaded. */
  protected abstract view(): TemplateResult;

  /** Tells the shell again what is around the page (after a change of what comes next). */
  protected settle(): void { frame.set({ ...emptyFrame, ...this.around() }); }

  /** One after the other: an older answer never comes over a newer one. What waits already is fresh enough for everybody. */
  reload(): Promise<void> {
    this.next ??= this.loading = this.loading.then(() => { this.next = undefined; return this.loadNow(); });
    return this.next;
  }
  /** The line is back before the server is reached: what is said stays until there is something to see. */
  private tryAgain(): void {
    if (this.fault?.status === 0 && !this.ready && !this.next) this.loading = this.loading.then(() => this.loadNow(true));
  }
  private async loadNow(quiet = false): Promise<void> {
    clearTimeout(this.retrying);
    if (!quiet) this.fault = undefined;
    try {
      await this.load();
      if (quiet) this.fault = undefined;
      this.ready = true;
      this.pause = 1000;
      this.settle();
    } catch (error) {
      if (error instanceof DOMException && error.name === 'AbortError') return;
      this.fault = Fault.of(error);
      if (!this.fault.offline || this.ready || !navigator.onLine || !this.isConnected) return;
      this.retrying = setTimeout(() => this.tryAgain(), this.pause);
      this.pause = Math.min(2 * this.pause, 30000);
    }
  }

  protected override render(): TemplateResult {
    if (this.fault && !this.ready) return errorView(this.fault, () => void this.reload(), true);
    if (!this.ready) return coming();
    return html`${this.fault ? errorView(this.fault, () => void this.reload()) : ''}${this.view()}`;
  }
}
