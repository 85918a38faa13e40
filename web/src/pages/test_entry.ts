// One test: its card with the drawing, tries left and right, the pass line in sight.
import { html, svg, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { same } from '../api/same.js';
import { button, check, field } from '../parts/controls.js';
import { askBeforeLeaving } from '../parts/leaving.js';
import { protocolName } from '../parts/library_names.js';
import { errorView } from '../parts/views.js';
import { protocolInWords, loadProtocolWords } from '../parts/protocol_words.js';
import { quantity, quantityText } from '../parts/quantity.js';
import { go } from '../shell/router.js';
import { may, say, settings, type Action } from '../shell/store.js';
import { fromShown, readNumber, shownAs, toShown } from '../units.js';
import { sentence, t, wordFor } from '../words/index.js';
import { cautionsView, head, VisitPage } from './visit_base.js';
import { round } from './visit_geometry.js';
import { entryOf, outcomeOf, passLine, readTests, resultOf, sidesOf, triesOf, withEntries, writeTests, type Side, type TestsRecord } from './tests_data.js';
import type { Caution, Protocol, TestResultEntry } from './visit_types.js';

interface Card { protocol: Protocol & { reach?: unknown; norms_note?: string }; cautions: Caution[] }

@customElement('page-test-entry')
export class TestEntry extends VisitPage {
  @state() private card: Card | undefined;
  @state() private record: TestsRecord | undefined;
  /** As typed, in the units of this device. */
  @state() private typed: Record<string, string[]> = {};
  @state() private reached: Record<string, boolean | undefined> = {};
  @state() private hand = '';
  /** The same as they were filled in from the record: what differs was typed here. */
  private filled: { typed: Record<string, string[]>; reached: Record<string, boolean | undefined>; hand: string } = { typed: {}, reached: {}, hand: '' };
  @state() private saveFault: Fault | undefined;
  @state() private saving = false;

  protected override heading(): string { return this.card ? protocolName(this.card.protocol) : t('tests_title'); }
  private get protocolId(): string { return this.params['protocol'] ?? ''; }

  protected override async load(): Promise<void> {
    await super.load();
    const signal = this.leaving.signal;
    const [card, record] = await Promise.all([api.get<Card>(`/protocols/${this.protocolId}`, { signal }), readTests(this.visitId, signal), loadProtocolWords()]);
    this.card = { ...card.data, protocol: protocolInWords(card.data.protocol) };
    this.record = record;
    this.fill();
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.until(askBeforeLeaving(() => this.unsaved));
  }
  private touched(side: Side): boolean {
    const given = (tries: string[] = []) => tries.filter((text) => text.trim() !== '');
    return !same(given(this.typed[side]), given(this.filled.typed[side])) || this.reached[side] !== this.filled.reached[side];
  }
  private get unsaved(): boolean { return this.ready && (this.hand !== this.filled.hand || sidesOf(this.card!.protocol).some((side) => this.touched(side))); }

  // Also after reading anew: what was typed here stays.
  private fill(): void {
    const { protocol } = this.card!;
    const system = settings.value.units;
    for (const side of sidesOf(protocol)) {
      const entry = entryOf(this.record!, protocol.id, side);
      const tries = triesOf(entry, protocol.unit).map((value) => String(Number(toShown(value, protocol.unit, system).toFixed(1))));
      while (tries.length < protocol.tries) tries.push('');
      if (!this.touched(side)) {
        this.typed = { ...this.typed, [side]: tries };
        this.reached = { ...this.reached, [side]: entry?.reached };
      }
      this.filled.typed[side] = tries;
      this.filled.reached[side] = entry?.reached;
    }
    const hand = this.record!.document.hand_breadth_cm;
    const handText = hand === undefined ? '' : String(Number(toShown(hand, 'cm', system).toFixed(1)));
    if (this.hand === this.filled.hand) this.hand = handText;
    this.filled.hand = handText;
  }

  protected override actions(): Action[] {
    const side = sidesOf(this.card?.protocol ?? { sides: '' })[0] ?? '';
    const actions: Action[] = [];
    if (may('enter_tests')) actions.push({ label: t('tests_save'), first: true, act: () => void this.save() });
    if (this.card?.protocol.photo && may('enter_tests')) actions.push({ label: t('tests_by_photo'), href: `${this.base}/tests/${this.protocolId}/photo?side=${side}` });
    actions.push({ label: t('tests_all'), href: `${this.base}/tests` });
    return actions;
  }

  private number(text: string): number {
    return fromShown(readNumber(text), this.card!.protocol.unit, settings.value.units);
  }

  private wrong(text: string): string {
    if (text.trim() === '') return '';
    const { allowed_range: range, unit } = this.card!.protocol;
    const value = this.number(text);
    if (!Number.isFinite(value)) return t('tests_no_number');
    return value < range.low || value > range.high ? t('tests_out_of_range', { low: quantityText(range.low, unit), high: quantityText(range.high, unit) }) : '';
  }

  private entries(): TestResultEntry[] {
    const { protocol } = this.card!;
    return sidesOf(protocol).map((side): TestResultEntry => {
      const old = entryOf(this.record!, protocol.id, side);
      const before = triesOf(old, protocol.unit);
      // What was not touched stays as exact as it was measured, and keeps what came with it (a photo, a device).
      if (old && !this.touched(side)) return old;
      const tries = (this.typed[side] ?? []).flatMap((text, i) => (text.trim() === '' ? [] : text === this.filled.typed[side]?.[i] ? [before[i]!] : [round(this.number(text), 4)]));
      const base: TestResultEntry = { protocol: protocol.id, ...(side ? { side } : {}) };
      if (tries.length > 0) return { ...base, [`tries_${protocol.unit}`]: tries };
      const reached = this.reached[side];
      return reached === undefined ? base : { ...base, reached };
    });
  }

  private get handWrong(): string { return this.hand.trim() !== '' && Number.isNaN(readNumber(this.hand)) ? t('tests_no_number') : ''; }

  private async save(): Promise<void> {
    if (this.saving) return;
    const all = Object.values(this.typed).flat();
    if (this.handWrong || all.some((text) => this.wrong(text) !== '')) {
      this.querySelector<HTMLElement>('.field.wrong input')?.focus();
      return;
    }
    this.saving = true;
    this.saveFault = undefined;
    const document = withEntries(this.record!, this.entries());
    if (this.hand.trim() === '') delete document.hand_breadth_cm;
    else if (this.hand !== this.filled.hand) document.hand_breadth_cm = round(fromShown(readNumber(this.hand), 'cm', settings.value.units), 2);
    try {
      const saved = await writeTests(this.visitId, this.record!, document, `${this.name}: ${protocolName(this.card!.protocol)}`);
      if (saved) this.record = saved;
      this.filled = { typed: { ...this.typed }, reached: { ...this.reached }, hand: this.hand };
      say(saved ? t('tests_saved') : t('tests_kept'));
      await go(`${this.base}/tests`);
    } catch (error) {
      this.saveFault = Fault.of(error);
    } finally {
      this.saving = false;
    }
  }

  protected override view(): TemplateResult {
    const { protocol, cautions } = this.card!;
    const signs = this.athlete.document.athlete.warning_signs ?? [];
    const against = protocol.not_with.filter((sign) => signs.includes(sign));
    return html`${head(protocolName(protocol), protocol.purpose)}
      ${this.signs()}
      ${against.length > 0 ? html`<div class="sign"><strong>${t('tests_not_with', { signs: against.map((sign) => wordFor('sign', sign)).join(', ') })}</strong></div>` : ''}
      <div class="test-entry">
        <div class="test-how"><img class="drawing" alt=${t('tests_drawing', { name: protocolName(protocol) })} src="/api/v1/protocols/${protocol.id}/drawing.svg">
          <p>${protocol.position}</p><ol class="steps">${protocol.steps.map((step) => html`<li>${step}</li>`)}</ol>
          ${protocol.cautions.map((line) => html`<p class="fault-line">${sentence(line)}</p>`)}</div>
        <form class="test-fields" ?inert=${this.saving} @submit=${(event: Event) => { event.preventDefault(); void this.save(); }}>
          <div class="sides">${sidesOf(protocol).map((side) => this.side(protocol, side))}</div>
          ${protocol.pass_line?.relative_to === 'hand_breadth' ? field({ id: 'hand', label: t('tests_hand'), hint: t('tests_hand_hint'), type: 'number',
            unit: shownAs('cm', settings.value.units).label, value: this.hand, fault: this.handWrong, input: (text) => { this.hand = text; } }) : ''}
          ${this.scale(protocol)}
          ${this.saveFault ? errorView(this.saveFault, this.saveFault.stale ? () => void this.reload().then(() => { this.saveFault = undefined; }) : undefined) : ''}
          ${may('enter_tests') ? html`<div class="row">${button({ label: t('tests_save'), kind: 'first', submit: true, disabled: this.saving })}
            ${protocol.photo ? button({ label: t('tests_by_photo'), href: `${this.base}/tests/${protocol.id}/photo?side=${sidesOf(protocol)[0]}` }) : ''}</div>` : ''}
        </form></div>
      ${this.sources(protocol)}
      ${cautionsView(cautions)}`;
  }

  private side(protocol: Card['protocol'], side: Side): TemplateResult {
    const name = side ? wordFor('side', side) : t('tests_tries');
    const tries = this.typed[side] ?? [];
    const row = outcomeOf(this.record!, protocol.id, side);
    const result = resultOf(row, protocol.unit);
    const set = (i: number, text: string) => {
      const next = [...tries];
      next[i] = text;
      this.typed = { ...this.typed, [side]: next };
      if (text.trim() !== '') this.reached = { ...this.reached, [side]: undefined };
    };
    return html`<fieldset class="side"><legend>${name}</legend>
      ${tries.map((text, i) => field({ id: `try-${side || 'one'}-${i + 1}`, label: t('tests_try', { n: i + 1 }), type: 'number', unit: shownAs(protocol.unit, settings.value.units).label,
        value: text, ...(this.wrong(text) ? { fault: this.wrong(text) } : {}), input: (typed) => set(i, typed) }))}
      <div>${button({ label: t('tests_more'), kind: 'bare', act: () => set(tries.length, '') })}</div>
      ${protocol.reach && protocol.pass_line ? check({ id: `reached-${side || 'one'}`, label: protocol.pass_line.label ? t('tests_reaches', { line: sentence(protocol.pass_line.label) }) : t('tests_reached'), checked: this.reached[side] === true,
        change: (on) => { this.reached = { ...this.reached, [side]: on ? true : undefined }; if (on) this.typed = { ...this.typed, [side]: tries.map(() => '') }; } }) : ''}
      ${result ? html`<p class="small quiet">${t('tests_result')} ${quantity({ value: result.value, error: result.standard_error, unit: protocol.unit, places: protocol.unit === 'deg' ? 0 : 1 })}</p>` : ''}
    </fieldset>`;
  }

  // A ruler: where the tries lie, where the pass line stands, where others come to.
  private scale(protocol: Card['protocol']): TemplateResult {
    const unit = protocol.unit;
    const hand = fromShown(readNumber(this.hand), 'cm', settings.value.units);
    const line = passLine(protocol, this.athlete.document.athlete.body.stature_cm, Number.isFinite(hand) ? hand : undefined);
    const norm = protocol.norms[0];
    const spread = norm?.standard_deviation ?? 0; // not every source tells it
    const values = Object.entries(this.typed).flatMap(([side, tries]) => tries.filter((text) => text.trim() !== '' && !this.wrong(text)).map((text) => ({ side, value: this.number(text) })));
    const marks = [...values.map((one) => one.value), ...(line === undefined ? [] : [line]), ...(norm ? [norm.mean - 2 * spread, norm.mean + 2 * spread] : [])];
    if (marks.length === 0) marks.push(protocol.allowed_range.low, protocol.allowed_range.high);
    const [least, most] = [Math.min(...marks), Math.max(...marks)];
    const margin = Math.max((most - least) * 0.15, 2);
    const [low, high] = [Math.max(protocol.allowed_range.low, least - margin), Math.min(protocol.allowed_range.high, most + margin)];
    const x = (value: number) => round(30 + ((value - low) / Math.max(high - low, 1e-6)) * 640);
    const words = line === undefined ? t('tests_scale') : t('tests_scale_line', { line: quantityText(line, unit), label: sentence(protocol.pass_line?.label ?? '') });
    const pass = protocol.better === 'higher' ? [x(line ?? 0), 670] : [30, x(line ?? 0)];
    return html`<figure class="ruler"><svg viewBox="0 0 700 128" role="img" aria-label=${words}>${svg`
      ${norm && spread > 0 ? svg`<rect class="norm" x=${x(Math.max(low, norm.mean - spread))} y="44" width=${round(x(Math.min(high, norm.mean + spread)) - x(Math.max(low, norm.mean - spread)))} height="40"/>` : ''}
      <path class="ruler-line" d="M30 84H670"/>
      ${[low, high].map((value) => svg`<text class="picture-words" x=${x(value)} y="112" text-anchor=${value === low ? 'start' : 'end'}>${quantityText(value, unit)}</text>`)}
      ${line !== undefined ? svg`<path class="pass-side" d="M${pass[0]!} 84H${pass[1]!}"/><path class="pass-line" d="M${x(line)} 28V96"/><path class="pass-head" d="M${x(line) - 22} 20H${x(line) + 22}V30H${x(line) - 22}Z"/>` : ''}
      ${values.map((one) => svg`<path class=${`try ${one.side}`} d=${one.side === 'right' ? `M${x(one.value)} 84l-7 12h14z` : `M${x(one.value)} 84l-7 -12h14z`}/>`)}`}</svg>
      <figcaption class="small quiet">${words}${norm ? ` · ${t('tests_norm', { who: norm.population, mean: quantityText(norm.mean, unit) })}` : ''}</figcaption></figure>`;
  }

  private sources(protocol: Card['protocol']): TemplateResult {
    return html`<details class="numbers"><summary>${t('tests_sources')}</summary><dl class="terms">
      ${protocol.pass_line ? html`<dt>${t('tests_pass_line')}</dt><dd>${sentence(protocol.pass_line.label ?? '')} (${sentence(protocol.pass_line.source)})</dd>` : ''}
      <dt>${t('tests_standard_error')}</dt><dd>${quantityText(protocol.standard_error.value, protocol.unit, null, 1)} (${protocol.standard_error.source})</dd>
      ${protocol.norms.map((norm) => html`<dt>${norm.population}</dt><dd>${quantityText(norm.mean, protocol.unit)}${norm.standard_deviation === undefined ? '' : html` ± ${norm.standard_deviation}`} (${norm.source})</dd>`)}
      ${protocol.norms_note ? html`<dt>${t('tests_note')}</dt><dd>${protocol.norms_note}</dd>` : ''}
      ${protocol.informs ? html`<dt>${t('tests_informs')}</dt><dd>${protocol.informs.text}</dd>` : ''}</dl></details>`;
  }
}
