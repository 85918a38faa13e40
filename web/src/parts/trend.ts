// One measure over time: values with error bars, the band in which a change cannot be told from noise, goal and forecast.
// What lies outside of the band is filled (a real change), what lies inside is hollow. The canvas is mute: the same numbers
// stand in a table below.
import { LitElement, html, nothing, svg, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import uPlot from 'uplot';
import { settings } from '../shell/store.js';
import { formatNumber, shownAs, toShown } from '../units.js';
import { currentLanguage, day, t } from '../words/index.js';
import { quantity, quantityText } from './quantity.js';
import { isReal } from './real.js';

export interface TrendPoint { date: string; value: number; error?: number | null; record?: string; note?: string }
export interface TrendLine {
  /** "left", "right" or "" */
  side: string;
  points: TrendPoint[];
  /** Told by a person, not measured in a clip: a mark of its own. */
  typed?: boolean;
}
export interface Forecast { points: { date: string; value: number; low: number; high: number }[] }

type Shape = 'square' | 'diamond' | 'bob' | 'ring';
const shapeOf = (line: TrendLine | undefined): Shape => (line?.typed ? 'ring' : line?.side === 'left' ? 'square' : line?.side === 'right' ? 'diamond' : 'bob');
const paths: Record<Shape, string> = { square: 'M6 2h10v10H6z', diamond: 'M11 0l7 7-7 7-7-7z', bob: 'M11 14L6 6l2-4h6l2 4z', ring: 'M5 7a6 6 0 1 0 12 0a6 6 0 1 0-12 0zM9.5 7h3' };
const seconds = (iso: string) => new Date(iso.slice(0, 10) + 'T12:00:00').getTime() / 1000;

@customElement('lt-trend')
export class Trend extends LitElement {
  @property() name = '';
  @property() unit = '';
  @property({ attribute: false }) lines: TrendLine[] = [];
  /** Smallest detectable change, in the unit. */
  @property({ type: Number }) detectable: number | undefined;
  @property({ type: Number }) goal: number | undefined;
  @property({ attribute: false }) forecast: Forecast | undefined;
  @property({ type: Number }) height = 190;
  /** No axes: a small one beside words. */
  @property({ type: Boolean }) small = false;
  /** Where a point's record can be opened. */
  @property({ attribute: false }) open: ((record: string) => string) | undefined;
  private plot: uPlot | undefined;
  private sizes: ResizeObserver | undefined;
  private stopWatching: (() => void) | undefined;
  private readonly scheme = matchMedia('(prefers-color-scheme: dark)');
  private readonly again = () => { this.draw(); };

  protected override createRenderRoot(): HTMLElement { return this; }
  override connectedCallback(): void {
    super.connectedCallback();
    this.stopWatching = settings.watch(() => this.requestUpdate());
    this.scheme.addEventListener('change', this.again);
  }
  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.plot?.destroy();
    this.plot = undefined;
    this.sizes?.disconnect();
    this.stopWatching?.();
    this.scheme.removeEventListener('change', this.again);
  }

  protected override render(): TemplateResult {
    return html`<div class="chart" role="img" aria-label=${this.summary()}></div>
      ${this.small ? nothing : html`${this.key()}<details class="numbers"><summary>${t('trend_numbers')}<span class="for-ears">: ${this.name}</span></summary>${this.table()}</details>`}`;
  }

  private summary(): string {
    const parts = this.lines.filter((line) => line.points.length).map((line) => {
      const [first, last] = [line.points[0]!, line.points[line.points.length - 1]!];
      const real = isReal(last.value, first.value, this.detectable);
      return `${line.side ? t(line.side === 'left' ? 'left' : 'right') + ': ' : ''}${quantityText(first.value, this.unit)} ${day(first.date)}, ` +
        `${quantityText(last.value, this.unit, last.error)} ${day(last.date)}${line.points.length > 1 ? ', ' + t(real ? 'change_real' : 'change_noise') : ''}`;
    });
    return `${this.name}. ${parts.join('. ')}`;
  }

  private key(): TemplateResult {
    const sides = this.lines.map((line) => line.side);
    const sign = (shape: Shape, full = true) => html`<svg viewBox="0 0 22 14" aria-hidden="true">${svg`<path d=${paths[shape]}
      fill=${full ? 'var(--lapis)' : 'none'} stroke="var(--lapis)" stroke-width="1.6"/>`}</svg>`;
    return html`<p class="trend-key">
      ${sides.includes('left') ? html`<span>${sign('square')}${t('left')}</span>` : nothing}
      ${sides.includes('right') ? html`<span>${sign('diamond')}${t('right')}</span>` : nothing}
      ${this.lines.some((line) => line.typed) ? html`<span>${sign('ring', false)}${t('key_typed')}</span>` : nothing}
      ${this.detectable ? html`<span>${sign(shapeOf(this.lines[0]), false)}${t('key_noise')}</span><span>${sign(shapeOf(this.lines[0]))}${t('key_real')}</span>` : nothing}
      ${this.goal !== undefined ? html`<span><svg viewBox="0 0 22 14" aria-hidden="true"><path d="M0 7h22" stroke="var(--rust)" stroke-width="2" stroke-dasharray="6 3"/></svg>${t('key_goal')}</span>` : nothing}
      ${this.forecast ? html`<span><svg viewBox="0 0 22 14" aria-hidden="true"><path d="M0 8L22 0v14z" fill="var(--lapis)" opacity=".25"/></svg>${t('key_forecast')}</span>` : nothing}
    </p>`;
  }

  private table(): TemplateResult {
    const rows = this.lines.flatMap((line) => line.points.map((point) => ({ ...point, side: line.side, first: line.points[0]! })))
      .sort((a, b) => b.date.localeCompare(a.date));
    return html`<div class="table-wrap"><table class="table"><thead><tr><th>${t('col_date')}</th>${this.lines.length > 1 ? html`<th>${t('col_side')}</th>` : nothing}
      <th class="num">${t('col_value')}</th><th>${t('col_change')}</th></tr></thead><tbody>${rows.map((row) => html`<tr>
      <td>${this.open && row.record ? html`<a href=${this.open(row.record)}>${day(row.date)}</a>` : day(row.date)}</td>
      ${this.lines.length > 1 ? html`<td>${t(row.side === 'left' ? 'left' : 'right')}</td>` : nothing}
      <td class="num">${quantity({ value: row.value, error: row.error, unit: this.unit })}${row.note ? html` <span class="quiet small">${row.note}</span>` : nothing}</td>
      <td>${row.date === row.first.date ? html`<span class="quiet">${t('change_first')}</span>` : html`${quantity({ value: row.value - row.first.value, unit: this.unit, change: true })}
        <span class="quiet small">${isReal(row.value, row.first.value, this.detectable) ? t('change_real') : t('change_noise')}</span>`}</td></tr>`)}</tbody></table></div>`;
  }

  protected override firstUpdated(): void {
    this.sizes = new ResizeObserver(() => {
      const width = this.querySelector('.chart')?.clientWidth ?? 0;
      if (this.plot && width > 0 && Math.abs(this.plot.width - width) > 1) this.plot.setSize({ width, height: this.height });
    });
    this.sizes.observe(this.querySelector('.chart')!);
  }
  protected override updated(): void { this.draw(); }

  private colour(name: string): string { return getComputedStyle(this).getPropertyValue(name).trim(); }

  private draw(): void {
    const box = this.querySelector<HTMLElement>('.chart');
    if (!box || !this.isConnected) return;
    this.plot?.destroy();
    const stamps = [...new Set([...this.lines.flatMap((line) => line.points.map((p) => seconds(p.date))), ...(this.forecast?.points ?? []).map((p) => seconds(p.date))])].sort((a, b) => a - b);
    if (stamps.length === 0) { this.plot = undefined; return; }
    const shown = (value: number) => toShown(value, this.unit, settings.value.units);
    const data = this.lines.map((line) => {
      const by = new Map(line.points.map((p) => [seconds(p.date), shown(p.value)]));
      return stamps.map((stamp) => by.get(stamp) ?? null);
    });
    this.plot = new uPlot(this.options(box, stamps), [stamps, ...data] as uPlot.AlignedData, box);
  }

  private limits(): [number, number] {
    const shown = (value: number) => toShown(value, this.unit, settings.value.units);
    const values = this.lines.flatMap((line) => line.points.flatMap((p) => [shown(p.value - (p.error ?? 0) * 1.96), shown(p.value + (p.error ?? 0) * 1.96)]));
    if (this.goal !== undefined) values.push(shown(this.goal));
    for (const p of this.forecast?.points ?? []) values.push(shown(p.low), shown(p.high));
    for (const line of this.lines) if (line.points[0] && this.detectable) values.push(shown(line.points[0].value - this.detectable), shown(line.points[0].value + this.detectable));
    const [low, high] = [Math.min(...values), Math.max(...values)];
    const room = (high - low || 1) * 0.08;
    return [low - room, high + room];
  }

  private options(box: HTMLElement, stamps: number[]): uPlot.Options {
    const [quiet, joint, lapis] = [this.colour('--quiet'), this.colour('--joint'), this.colour('--lapis')];
    const font = '13px "Atkinson Hyperlegible Next", system-ui, sans-serif';
    const [low, high] = this.limits();
    const pad = Math.max(3 * 86400, (stamps[stamps.length - 1]! - stamps[0]!) * 0.05);
    return {
      width: Math.max(120, box.clientWidth), height: this.height, legend: { show: false }, cursor: { show: false },
      padding: this.small ? [4, 4, 4, 4] : [12, 8, 0, 0],
      scales: { x: { time: true, range: () => [stamps[0]! - pad, stamps[stamps.length - 1]! + pad] }, y: { range: () => [low, high] } },
      axes: [
        { show: !this.small, stroke: quiet, font, grid: { show: false }, ticks: { stroke: joint, size: 5 }, space: 90,
          values: (_u, ticks) => ticks.map((tick) => new Intl.DateTimeFormat(currentLanguage() === 'en' ? 'en-GB' : currentLanguage(), { day: 'numeric', month: 'short' }).format(tick * 1000)) },
        { show: !this.small, stroke: quiet, font, size: 52, grid: { stroke: joint, width: 1 }, ticks: { show: false }, space: 36,
          values: (_u, ticks) => ticks.map((tick) => `${formatNumber(tick, '', 'metric', currentLanguage(), Number.isInteger(tick) ? 0 : 1)}${shownAs(this.unit, settings.value.units).label === '°' ? '°' : ''}`) },
      ],
      series: [{}, ...this.lines.map((line) => ({ stroke: lapis, width: 1.8, dash: line.side === 'right' ? [7, 4] : line.typed ? [2, 4] : [], points: { show: false }, spanGaps: true }))],
      hooks: { drawAxes: [(u) => this.drawUnder(u)], draw: [(u) => this.drawOver(u)] },
    };
  }

  /** Band of the smallest detectable change, forecast fan, goal line. */
  private drawUnder(u: uPlot): void {
    const c = u.ctx;
    const y = (value: number) => u.valToPos(toShown(value, this.unit, settings.value.units), 'y', true);
    const { left, top, width, height } = u.bbox;
    c.save();
    c.beginPath(); c.rect(left, top, width, height); c.clip();
    for (const line of this.lines) {
      const first = line.points[0];
      if (!first || !this.detectable) continue;
      c.fillStyle = this.colour('--stone-2'); c.globalAlpha = this.lines.length > 1 ? 0.5 : 0.8;
      c.fillRect(left, y(first.value + this.detectable), width, y(first.value - this.detectable) - y(first.value + this.detectable));
    }
    c.globalAlpha = 1;
    if (this.goal !== undefined) {
      c.strokeStyle = this.colour('--rust'); c.lineWidth = 2 * devicePixelRatio; c.setLineDash([8 * devicePixelRatio, 4 * devicePixelRatio]);
      c.beginPath(); c.moveTo(left, y(this.goal)); c.lineTo(left + width, y(this.goal)); c.stroke(); c.setLineDash([]);
    }
    this.drawFan(u, y);
    c.restore();
  }

  private drawFan(u: uPlot, y: (value: number) => number): void {
    const points = this.forecast?.points ?? [];
    if (points.length < 2) return;
    const c = u.ctx;
    const x = (iso: string) => u.valToPos(seconds(iso), 'x', true);
    c.fillStyle = this.colour('--lapis'); c.globalAlpha = 0.16;
    c.beginPath();
    points.forEach((p, i) => (i ? c.lineTo(x(p.date), y(p.high)) : c.moveTo(x(p.date), y(p.high))));
    [...points].reverse().forEach((p) => c.lineTo(x(p.date), y(p.low)));
    c.closePath(); c.fill(); c.globalAlpha = 1;
    c.strokeStyle = this.colour('--lapis'); c.lineWidth = 1.6 * devicePixelRatio; c.setLineDash([2 * devicePixelRatio, 4 * devicePixelRatio]);
    c.beginPath();
    points.forEach((p, i) => (i ? c.lineTo(x(p.date), y(p.value)) : c.moveTo(x(p.date), y(p.value))));
    c.stroke(); c.setLineDash([]);
  }

  /** Error bars (95 %) and marks. */
  private drawOver(u: uPlot): void {
    const c = u.ctx;
    const r = devicePixelRatio;
    const y = (value: number) => u.valToPos(toShown(value, this.unit, settings.value.units), 'y', true);
    c.save();
    c.setLineDash([]);
    for (const line of this.lines) {
      const first = line.points[0];
      // Two sides of one day stand beside each other.
      const aside = this.lines.length > 1 ? (line.side === 'left' ? -4 : 4) * r : 0;
      line.points.forEach((point) => {
        const [x, middle] = [u.valToPos(seconds(point.date), 'x', true) + aside, y(point.value)];
        c.strokeStyle = this.colour('--lapis'); c.lineWidth = 1.6 * r;
        if (point.error) {
          const [a, b] = [y(point.value - 1.96 * point.error), y(point.value + 1.96 * point.error)];
          c.beginPath(); c.moveTo(x, a); c.lineTo(x, b);
          if (!this.small) { c.moveTo(x - 5 * r, a); c.lineTo(x + 5 * r, a); c.moveTo(x - 5 * r, b); c.lineTo(x + 5 * r, b); }
          c.stroke();
        }
        mark(c, shapeOf(line), x, middle, (this.small ? 4 : 6.5) * r);
        c.fillStyle = isReal(point.value, first!.value, this.detectable) ? this.colour('--lapis') : this.colour('--chalk');
        c.fill(); c.lineWidth = 2 * r; c.stroke();
      });
    }
    c.restore();
  }
}

function mark(c: CanvasRenderingContext2D, shape: Shape, x: number, y: number, r: number): void {
  c.beginPath();
  if (shape === 'ring') c.arc(x, y, r, 0, 2 * Math.PI);
  else if (shape === 'square') c.rect(x - r * 0.85, y - r * 0.85, r * 1.7, r * 1.7);
  else if (shape === 'diamond') { c.moveTo(x, y - r * 1.2); c.lineTo(x + r * 1.2, y); c.lineTo(x, y + r * 1.2); c.lineTo(x - r * 1.2, y); c.closePath(); }
  else { c.moveTo(x, y + r * 1.4); c.lineTo(x - r, y - r * 0.3); c.lineTo(x - r * 0.5, y - r); c.lineTo(x + r * 0.5, y - r); c.lineTo(x + r, y - r * 0.3); c.closePath(); }
}
declare global { interface HTMLElementTagNameMap { 'lt-trend': Trend } }
