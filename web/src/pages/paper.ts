// A paper (PDF) looked at inside of the page: one page after the other, larger and smaller, with its words for ears.
import { LitElement, html, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { send } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button } from '../parts/controls.js';
import { coming, errorView } from '../parts/views.js';
import { t } from '../words/index.js';
import { icon } from './visit_icons.js';
import type { Paper, RenderTask } from './paper_pdf.js';

const zooms = [0.5, 0.75, 1, 1.25, 1.5, 2, 3, 4];
/** Side of the page's width at 100 %: wider than this it is no longer easier to read. */
const widest = 860;
/** What the smallest tablets give a canvas. */
const mostPixels = 16e6;

@customElement('lt-paper')
export class PaperPreview extends LitElement {
  @property() href = '';
  @property() name = '';
  @property() download = '';
  @property({ attribute: false }) close: () => void = () => undefined;
  @state() private paper: Paper | undefined;
  @state() private page = 1;
  @state() private zoom = 1;
  @state() private lines: string[] = [];
  @state() private fault: Fault | undefined;
  private leaving = new AbortController();
  private drawing: RenderTask | undefined;
  private turn = 0;
  private fresh = false;
  /** What was pressed to get here; the focus goes back to it. */
  private opener: Element | null = null;
  private width = 0;
  private resized: ReturnType<typeof setTimeout> | undefined;
  private readonly size = new ResizeObserver(() => {
    clearTimeout(this.resized);
    this.resized = setTimeout(() => { if (Math.abs(this.room - this.width) > 1) void this.draw(); }, 150);
  });

  protected override createRenderRoot(): HTMLElement { return this; }

  private get room(): number {
    return Math.min(widest, Math.max(200, (this.querySelector('.paper-scroll')?.clientWidth ?? widest) - 24));
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.leaving.abort();
    clearTimeout(this.resized);
    this.size.disconnect();
    this.drawing?.cancel();
    void this.paper?.destroy();
  }

  protected override willUpdate(changed: PropertyValues): void {
    if (!changed.has('href') || !this.href) return;
    this.opener = document.activeElement;
    this.fresh = true;
    void this.open();
  }
  protected override updated(changed: PropertyValues): void {
    if (changed.has('href')) {
      this.querySelector<HTMLElement>('h2')?.focus();
    }
    if (this.paper && ['paper', 'page', 'zoom'].some((name) => changed.has(name))) void this.draw();
  }

  private async open(): Promise<void> {
    this.leaving.abort();
    this.leaving = new AbortController();
    const { signal } = this.leaving;
    this.drawing?.cancel();
    void this.paper?.destroy();
    Object.assign(this, { paper: undefined, fault: undefined, page: 1, zoom: 1, lines: [] });
    try {
      const [{ openPaper }, bytes] = await Promise.all([
        import('./paper_pdf.js'), send('GET', this.href, undefined, { signal, headers: { Accept: 'application/pdf' } }).then((answer) => answer.arrayBuffer())]);
      const paper = await openPaper(bytes);
      if (signal.aborted) await paper.destroy();
      else this.paper = paper;
    } catch (error) {
      if (!signal.aborted) this.fault = error instanceof TypeError ? new Fault(0, 'offline', '') : Fault.of(error);
    }
  }

  /** The page on a canvas with as many dots as the screen has; the one before stays until it is ready. */
  private async draw(): Promise<void> {
    const turn = ++this.turn;
    this.drawing?.cancel();
    const { page: number, zoom, paper } = this;
    if (!paper) return;
    try {
      const { linesOf } = await import('./paper_pdf.js');
      const page = await paper.getPage(number);
      if (turn !== this.turn) return;
      this.width = this.room;
      const whole = page.getViewport({ scale: 1 });
      const scale = (this.width / whole.width) * zoom;
      const dots = Math.min(globalThis.devicePixelRatio || 1, Math.sqrt(mostPixels / (whole.width * whole.height)) / scale);
      const viewport = page.getViewport({ scale: scale * dots });
      const canvas = document.createElement('canvas');
      canvas.width = Math.round(viewport.width);
      canvas.height = Math.round(viewport.height);
      canvas.style.width = `${Math.round(whole.width * scale)}px`;
      canvas.setAttribute('role', 'img');
      canvas.setAttribute('aria-label', t('paper_picture', { name: this.name, page: number, pages: paper.numPages }));
      this.drawing = page.render({ canvasContext: canvas.getContext('2d', { alpha: false })!, viewport });
      const [lines] = await Promise.all([linesOf(page), this.drawing.promise]);
      if (turn !== this.turn) return;
      this.lines = lines;
      this.querySelector('.paper-sheet')?.replaceChildren(canvas);
      const scroll = this.querySelector('.paper-scroll');
      if (scroll) this.size.observe(scroll);
      // Only now there is something below to scroll to.
      if (this.fresh) this.querySelector('.paper-preview')?.scrollIntoView({ block: 'start' });
      this.fresh = false;
    } catch (error) {
      if (turn === this.turn && (error as Error).name !== 'RenderingCancelledException') this.fault = Fault.of(error);
    }
  }

  private leave(): void {
    this.close();
    if (this.opener instanceof HTMLElement && this.opener.isConnected) this.opener.focus();
  }

  private turnTo(page: number): void {
    this.page = Math.min(Math.max(page, 1), this.paper?.numPages ?? 1);
    this.querySelector('.paper-scroll')?.scrollTo({ top: 0 });
  }
  private zoomBy(step: number): void {
    this.zoom = zooms[Math.min(Math.max(zooms.indexOf(this.zoom) + step, 0), zooms.length - 1)]!;
  }

  protected override render(): TemplateResult {
    const { paper, page, zoom } = this;
    const pages = paper?.numPages ?? 1;
    return html`<section class="paper-preview" aria-labelledby="paper-name">
      <div class="row between"><h2 id="paper-name" tabindex="-1">${t('paper_preview', { name: this.name })}</h2>
        ${button({ label: t('paper_close'), act: () => this.leave() })}</div>
      ${this.fault ? errorView(this.fault, () => void this.open()) : !paper ? coming(t('paper_coming')) : html`<div class="row paper-tools">
        ${pages > 1 ? html`${button({ label: t('paper_back'), icon: icon('back'), iconOnly: true, disabled: page <= 1, act: () => this.turnTo(page - 1) })}
        ${button({ label: t('paper_forth'), icon: icon('forth'), iconOnly: true, disabled: page >= pages, act: () => this.turnTo(page + 1) })}` : nothing}
        <span class="paper-where" role="status">${t('paper_where', { page, pages })}</span>
        <span class="row paper-zooms">${button({ label: t('paper_smaller'), icon: icon('less'), iconOnly: true, disabled: zoom <= zooms[0]!, act: () => this.zoomBy(-1) })}
        <span class="paper-zoom">${t('paper_zoom', { zoom: Math.round(zoom * 100) })}</span>
        ${button({ label: t('paper_larger'), icon: icon('plus'), iconOnly: true, disabled: zoom >= zooms.at(-1)!, act: () => this.zoomBy(1) })}</span></div>
      <div class="paper-scroll" tabindex="0" role="group" aria-label=${t('paper_where', { page, pages })}><div class="paper-sheet"></div>
        <div class="for-ears paper-words">${this.lines.map((line) => html`<p>${line}</p>`)}</div></div>`}
      <div class="row"><a class="button plain" href=${this.href} target="_blank" rel="noopener"><span>${t('paper_print')}</span></a>
        ${this.download ? button({ label: t('report_download'), icon: icon('down'), href: this.href, download: this.download }) : nothing}</div></section>`;
  }
}
