// The recurring mark of a measured trunk: the lean against a plumb line, with its error as a fan.
import { LitElement, html, svg, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { t } from '../words/index.js';
import { quantityText } from './quantity.js';

@customElement('lt-plumb')
export class Plumb extends LitElement {
  /** Trunk inclination in degrees from the vertical; undefined = not measured. */
  @property({ type: Number }) deg: number | undefined;
  @property({ type: Number }) error: number | undefined;
  /** Words are beside it already. */
  @property({ type: Boolean }) mute = false;

  protected override createRenderRoot(): HTMLElement { return this; }

  protected override render() {
    const [x0, y0, length] = [13, 44, 38];
    const at = (deg: number, r = length) => [x0 + r * Math.sin(deg * Math.PI / 180), y0 - r * Math.cos(deg * Math.PI / 180)] as const;
    const known = this.deg !== undefined && this.deg !== null && Number.isFinite(this.deg);
    const tip = at(known ? this.deg! : 30);
    const spread = 2 * (this.error ?? 0);
    const [low, high] = [at((this.deg ?? 0) - spread), at((this.deg ?? 0) + spread)];
    const words = known ? t('trunk_of', { angle: quantityText(this.deg!, 'deg', this.error) }) : t('trunk_not_measured');
    return html`<svg class="plumb" viewBox="0 0 40 48" role=${this.mute ? 'presentation' : 'img'} aria-label=${this.mute ? nothing : words} aria-hidden=${this.mute ? 'true' : nothing}>${svg`
      <path class="thread" d="M${x0} 0V36"/><path class="bob" d="M${x0} 47l-4.4-7.4 2.2-2.8h4.4l2.2 2.8z"/>
      ${known && spread > 0 ? svg`<path class="spread" d="M${x0} ${y0 - 6}L${low[0]} ${low[1]}A${length} ${length} 0 0 1 ${high[0]} ${high[1]}Z"/>` : nothing}
      <path class=${known ? 'lean' : 'unknown'} fill="none" d="M${x0} ${y0 - 6}L${tip[0]} ${tip[1]}"/>`}</svg>`;
  }
}
declare global { interface HTMLElementTagNameMap { 'lt-plumb': Plumb } }
