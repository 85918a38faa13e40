// The curve of one measure under the picture: raw points, fitted line with its error, repetitions, the present frame.
import { LitElement, html, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import uPlot from 'uplot';
import { settings } from '../shell/store.js';
import { shownAs, toShown } from '../units.js';
import { t } from '../words/index.js';
import type { Clip } from './player_data.js';
import { frameAt } from './player_frames.js';

const height = 190;

@customElement('lt-curve')
export class CurveChart extends LitElement {
  @property({ attribute: false }) clip: Clip | undefined;
  @property() channel = 'trunk_inclination';
  @property() label = '';
  @property({ type: Number }) index = 0;
  @property({ attribute: false }) seek: (index: number) => void = () => undefined;
  private chart: uPlot | undefined;
  private size: ResizeObserver | undefined;
  // The present frame's line moves by itself: the curves under it are not drawn again for every picture.
  private readonly now = Object.assign(document.createElement('div'), { className: 'now-line' });

  protected override createRenderRoot(): HTMLElement { return this; }
  protected override render(): TemplateResult {
    return html`<div class="chart" role="img" aria-label=${t('player_chart', { measure: this.label })}></div>`;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.size = new ResizeObserver(() => this.chart?.setSize({ width: this.clientWidth, height }));
    this.size.observe(this);
  }
  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.size?.disconnect();
    this.chart?.destroy();
    this.chart = undefined;
  }

  protected override updated(changed: Map<string, unknown>): void {
    if (changed.has('clip') || changed.has('channel') || !this.chart) this.build();
    else if (changed.has('index')) this.placeNow(this.chart);
  }

  private build(): void {
    this.chart?.destroy();
    this.chart = undefined;
    const curve = this.clip?.curves.channels[this.channel];
    const box = this.querySelector<HTMLElement>('.chart');
    if (!this.clip || !curve || !box) return;
    const scale = (value: number | null | undefined) =>
      value === null || value === undefined ? null : toShown(value, curve.unit, settings.value.units);
    const fitted = curve.fitted.map(scale);
    const error = curve.error.map((value) => scale(value) ?? 0);
    const low = fitted.map((value, i) => (value === null ? null : value - 1.96 * error[i]!));
    const high = fitted.map((value, i) => (value === null ? null : value + 1.96 * error[i]!));
    const color = (name: string) => getComputedStyle(this).getPropertyValue(name).trim();
    const axis: uPlot.Axis = { stroke: color('--quiet'), grid: { stroke: color('--joint'), width: 1 }, ticks: { show: false },
      font: '13px "Atkinson Hyperlegible Next", sans-serif', gap: 6 };
    this.chart = new uPlot({
      width: this.clientWidth || 400, height, legend: { show: false },
      cursor: { drag: { x: false, y: false }, points: { show: false }, y: false,
        bind: { mousedown: () => (event: MouseEvent) => { this.point(event); return null; }, mousemove: (_, __, handler) => (event: MouseEvent) => { if (event.buttons === 1) this.point(event); handler(event); return null; } } },
      scales: { x: { time: false } },
      axes: [{ ...axis, size: 30, values: (_, splits) => splits.map((value) => `${value} s`) },
        { ...axis, size: 48, values: (_, splits) => splits.map((value) => `${value}${curve.unit === 'deg' ? '°' : ''}`) }],
      series: [{},
        { stroke: 'transparent', points: { show: false } },
        { stroke: 'transparent', points: { show: false } },
        { stroke: color('--edge'), width: 0, points: { show: true, size: 3, stroke: color('--edge'), fill: color('--edge') }, paths: () => null },
        { stroke: color('--lapis'), width: 2.5, points: { show: false } }],
      bands: [{ series: [2, 1], fill: color('--lapis-wash') }],
      hooks: { drawAxes: [(chart) => this.drawRepetitions(chart, color)], ready: [(chart) => chart.over.append(this.now)], draw: [(chart) => this.placeNow(chart)] },
    }, [this.clip.times, low, high, curve.raw.map(scale), fitted] as uPlot.AlignedData, box);
  }

  private point(event: MouseEvent): void {
    if (!this.chart || !this.clip) return;
    const box = this.chart.over.getBoundingClientRect();
    this.seek(frameAt(this.clip.times, this.chart.posToVal(event.clientX - box.left, 'x')));
  }

  private drawRepetitions(chart: uPlot, color: (name: string) => string): void {
    const { ctx, bbox } = chart;
    ctx.save();
    ctx.font = `600 ${13 * devicePixelRatio}px "Atkinson Hyperlegible Next", sans-serif`;
    ctx.textAlign = 'center';
    for (const repetition of this.clip!.repetitions) {
      const [from, bottom, to] = [repetition.start, repetition.bottom, repetition.end]
        .map((moment) => chart.valToPos(moment.time_s, 'x', true)) as [number, number, number];
      ctx.fillStyle = color('--stone-1');
      ctx.fillRect(from, bbox.top, to - from, bbox.height);
      ctx.fillStyle = color('--rust');
      const [y, r] = [bbox.top + bbox.height, 6 * devicePixelRatio];
      ctx.beginPath();
      ctx.moveTo(bottom, y - 2 * r);
      ctx.lineTo(bottom + r * 0.7, y - r);
      ctx.lineTo(bottom, y);
      ctx.lineTo(bottom - r * 0.7, y - r);
      ctx.fill();
      ctx.fillStyle = color('--quiet');
      ctx.fillText(String(repetition.number), bottom, bbox.top + 15 * devicePixelRatio);
    }
    ctx.restore();
  }

  private placeNow(chart: uPlot): void {
    const time = this.clip?.times[this.index];
    if (time !== undefined) this.now.style.transform = `translateX(${chart.valToPos(time, 'x') - 1}px)`;
  }
}

/** Words for the unit of a channel. */
export const channelUnit = (clip: Clip, channel: string): string =>
  shownAs(clip.curves.channels[channel]?.unit ?? 'deg', settings.value.units).label;
