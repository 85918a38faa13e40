// Why the trunk leans: the lean as a picture, its parts, their evidence, habit against stiffness, the practitioner's word.
import { html, svg, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button, choice, field } from '../parts/controls.js';
import { openDialog } from '../parts/dialog.js';
import { icons } from '../parts/icons.js';
import { look } from '../parts/look.js';
import { trunkText } from '../parts/history_words.js';
import { emptyState, errorView } from '../parts/views.js';
import { quantity, quantityText, rangeText } from '../parts/quantity.js';
import { may, say, session, type Action } from '../shell/store.js';
import { sentence, t, today, wordFor } from '../words/index.js';
import { historyOf } from './history_place.js';
import { cautionsView, head, trialName, nice, VisitPage, type RecordOf } from './visit_base.js';
import { figureOf, type ModelFigure } from './visit_model_figure.js';
import { patternDefinitions, patternFill } from './visit_patterns.js';
import { drawWhy, whySize } from './why_picture.js';
import { inTen, shownParts, slices, type ShownPart } from './why_parts.js';
import { habitStrip } from './why_habit.js';
import type { Evidence, Explanation, Finding, Findings, Overruling } from './visit_types.js';

interface FindingsAnswer extends Findings {
  trial: string | null;
  figures?: { seen: ModelFigure; upright: ModelFigure; after_best: ModelFigure };
  best_change?: string | null;
}
interface Overrulings { schema: string; athlete: string; overrulings: Overruling[] }

@customElement('page-why')
export class Why extends VisitPage {
  @state() private answer: FindingsAnswer | undefined;
  @state() private chosen = '';
  @state() private word: RecordOf<Overrulings> | undefined;
  @state() private saveFault: Fault | undefined;
  /** Written and not taken by the server: it stands in the form again. */
  private unwritten: Overruling | undefined;

  protected override heading(): string { return t('why_title'); }

  protected override async load(): Promise<void> {
    await super.load();
    this.settle(); // the findings take a moment: where one is stands there before them
    [this.answer, this.word] = await Promise.all([this.readFindings(), this.readWord()]);
  }
  private readFindings(): Promise<FindingsAnswer> {
    const trial = this.query.get('trial');
    return this.findings(trial ? { assessment: trial } : {}) as Promise<FindingsAnswer>;
  }
  private async readWord(): Promise<RecordOf<Overrulings>> {
    return (await api.get<RecordOf<Overrulings>>(`/visits/${this.visitId}/overrulings`, { signal: this.leaving.signal })).data;
  }

  protected override actions(): Action[] {
    const next = this.answer?.next_tests;
    const test = next && next.stop === 'not_yet' ? next.options[0] : undefined;
    const actions: Action[] = [{ label: t('why_do_what_if'), href: `${this.base}/what-if`, first: !test }];
    if (test) actions.unshift({ label: t('why_do_test', { test: sentence(test.label) }), href: `${this.base}/tests`, first: true });
    actions.push({ label: t('visit_do_plan'), href: `${this.base}/plan` });
    if (this.word?.id) actions.push({ label: t('why_word_history'), href: historyOf(this.word.id), icon: icons.history });
    return actions;
  }

  protected override view(): TemplateResult {
    const answer = this.answer!;
    const explanation = answer.explanation;
    return html`${head(t('why_title'), this.source())}
      ${this.signs()}
      ${explanation && explanation.parts.length > 0 && !explanation.cannot_tell
        ? this.explained(explanation)
        : emptyState({ title: t('why_cannot_tell'), words: explanation?.cannot_tell ? nice(explanation.cannot_tell) : t('why_needs'),
          step: html`<div class="row">${answer.trial ? '' : button({ label: t('visit_do_film'), href: `${this.base}/film` })}${button({ label: t('visit_do_tests'), href: `${this.base}/tests` })}</div>` })}
      ${this.others(answer)}
      ${this.nextTest(answer)}
      ${cautionsView(answer.cautions)}`;
  }

  private source(): TemplateResult | string {
    const trial = this.trials.find((one) => one.id === this.answer?.trial);
    const at = trial ? this.trials.indexOf(trial) + 1 : 0;
    const typed = this.visit.document.trunk;
    const clip = trial ? html`<a href="${this.base}/film/${trial.id}">${trialName(trial, at)}</a>` : typed ? trunkText(typed) : t('why_no_clip');
    return html`${trial || typed ? html`${t('why_from')} ` : ''}${clip}${this.answer?.explanation ? html`, ${t('why_tests_used', { n: this.answer.explanation.tests_done })}` : ''}`;
  }

  private explained(explanation: Explanation): TemplateResult {
    const parts = shownParts(explanation);
    const observed = explanation.observed_trunk_inclination_deg;
    const lean = observed?.value ?? explanation.reference_trunk_inclination_deg + explanation.whole_deg;
    return html`<p class="why-sentence">${t(observed ? 'why_sentence' : 'why_sentence_allowed', {
      observed: quantityText(lean, 'deg', observed?.standard_error ?? null),
      reference: quantityText(explanation.reference_trunk_inclination_deg, 'deg'),
      // Of the rounded ones, so that the three numbers of the sentence agree.
      extra: quantityText(Math.round(lean) - Math.round(explanation.reference_trunk_inclination_deg), 'deg') })}</p>
      <div class="why">
        ${this.picture(explanation, parts, lean)}
        <ol class="parts">${parts.map((part, i) => this.partRow(part, i + 1))}</ol>
      </div>
      ${habitStrip(explanation)}`;
  }

  private picture(explanation: Explanation, parts: ShownPart[], lean: number): TemplateResult {
    // Without a lean that was seen the body stands as upright as it can.
    const figure = this.answer?.figures?.seen ?? this.answer?.figures?.upright;
    const body = figure ? figureOf(figure) : {};
    const sliced = slices(parts, lean);
    const numberOf = (factor: string) => parts.findIndex((part) => part.factor === factor) + 1;
    const described = parts.map((part, i) => `${i + 1}: ${this.nameOf(part)} ${quantityText(part.share, 'deg')}`).join('; ');
    return html`<figure class="why-picture"><svg viewBox="0 0 ${whySize.width} ${whySize.height}" role="img" aria-label=${t('why_picture', { parts: described })}>
      ${drawWhy({ body, discRadius: figure?.disc_radius_m ?? 0, observed: lean, reference: explanation.reference_trunk_inclination_deg,
        upright: explanation.most_upright_trunk_inclination_deg.value, slices: sliced, chosen: this.chosen, numberOf,
        nameOf: (slice) => this.nameOf(slice.part), choose: (factor) => this.choose(factor),
        words: { observed: quantityText(lean, 'deg'), reference: quantityText(explanation.reference_trunk_inclination_deg, 'deg'), upright: '' } })}
    </svg><figcaption class="small quiet">${t('why_caption')}</figcaption></figure>`;
  }

  private nameOf(part: ShownPart): string {
    return part.factor === 'rest' ? t('why_rest', { n: part.members.length }) : wordFor('part', part.factor);
  }

  private choose(factor: string): void {
    this.chosen = this.chosen === factor ? '' : factor;
  }

  private partRow(part: ShownPart, number: number): TemplateResult {
    const finding = this.findingOf(part);
    const open = this.chosen === part.factor;
    const overruled = finding?.overruling && finding.overruling.verdict !== 'withdrawn';
    return html`<li class=${`part ${open ? 'open' : ''} ${finding?.overruling?.verdict === 'rejected' ? 'rejected' : ''}`}>
      <button class="part-head" aria-expanded=${open ? 'true' : 'false'} @click=${() => this.choose(part.factor)}>
        <span class="part-number" aria-hidden="true">${number}</span>
        <svg class="swatch" viewBox="0 0 56 34" aria-hidden="true">${svg`${patternDefinitions(`s${number}`, 0.9)}<rect x="1" y="1" width="54" height="32" fill=${patternFill(`s${number}`, part.pattern)} stroke="var(--text)"/>`}</svg>
        <span class="part-name"><strong>${this.nameOf(part)}</strong><span class="small quiet">${this.sure(part, finding)}</span></span>
        <span class="part-size">${quantity({ value: part.share, unit: 'deg', size: 'large' })}
          ${Number.isFinite(part.low) ? html`<span class="small quiet">${rangeText(part.low, part.high, 'deg')}</span>` : ''}</span>
      </button>
      ${overruled ? html`<p class="tag-line"><span class="tag">${wordFor('why_verdict', finding.overruling!.verdict)}</span> <span class="small">${finding.overruling!.reason} (${finding.overruling!.who})</span></p>` : ''}
      ${open ? html`<div class="part-body">${part.factor === 'rest' ? this.rest(part) : finding ? this.evidence(finding) : html`<p>${t('why_model_only')}</p>`}</div>` : ''}
    </li>`;
  }

  private sure(part: ShownPart, finding: Finding | undefined): string {
    const largest = inTen(part.largest);
    const word = finding?.confidence ? wordFor('why_confidence', finding.confidence) : '';
    const often = part.factor === 'rest' ? '' : largest.key === 'sure' ? t('why_surely_largest')
      : largest.key === 'no' ? t('why_not_largest') : t('why_largest_in_ten', { n: largest.n });
    return [word, often].filter(Boolean).join(' · ');
  }

  private findingOf(part: ShownPart): Finding | undefined {
    return this.answer?.findings.find((finding) => finding.id === part.factor)
      ?? this.answer?.findings.find((finding) => finding.part === part.factor && finding.size_of === 'lean' && !finding.side);
  }

  private rest(part: ShownPart): TemplateResult {
    return html`<ul class="stack gap-1">${part.members.map((one) => html`<li class="row between"><span>${wordFor('part', one.factor)}</span>
      ${quantity({ value: one.share_deg, unit: 'deg', places: 1 })}</li>`)}</ul>`;
  }

  private evidence(finding: Finding): TemplateResult {
    const order = ['supports', 'contradicts', 'neutral'];
    const sorted = [...finding.evidence].filter((one) => one.repetition === null || one.repetition === undefined || one.source !== 'video')
      .sort((a, b) => order.indexOf(a.bearing) - order.indexOf(b.bearing));
    const each = finding.evidence.filter((one) => one.source === 'video' && one.repetition);
    return html`${finding.sentence ? html`<p>${nice(finding.sentence)}</p>` : ''}${finding.conflict ? html`<p class="fault-line">${nice(finding.conflict)}</p>` : ''}
      <ul class="evidence">${sorted.map((one) => this.evidenceRow(one))}</ul>
      ${each.length > 0 ? html`<details class="numbers"><summary>${t('why_each_repetition')}</summary><ul class="evidence">${each.map((one) => this.evidenceRow(one))}</ul></details>` : ''}
      ${this.overruleLine(finding)}`;
  }

  private evidenceRow(one: Evidence): TemplateResult {
    const mark = one.bearing === 'supports' ? '+' : one.bearing === 'contradicts' ? '−' : '·';
    const trial = this.answer?.trial;
    const link = one.source === 'video' && one.frame !== null && trial ? html` <a href="${this.base}/film/${trial}?frame=${one.frame}">${t('why_see_frame')}</a>`
      : one.source === 'test' && one.test ? html` <a href="${this.base}/tests">${t('why_see_test')}</a>` : '';
    return html`<li class=${one.bearing}><span class="bearing" aria-hidden="true">${mark}</span><span><span class="for-ears">${wordFor('why_bearing', one.bearing)}: </span>
      ${one.text.startsWith('model: ') ? '' : html`<span class="small quiet">${wordFor('why_source', one.source === 'video' && !this.answer?.trial ? 'typed' : one.source)}</span> `}${nice(one.text)}${link}</span></li>`;
  }

  private overruleLine(finding: Finding): TemplateResult | '' {
    if (!may('write_records')) return '';
    const standing = finding.overruling && finding.overruling.verdict !== 'withdrawn';
    return html`<div class="row">${standing
      ? button({ label: t('why_withdraw'), act: () => this.overrule(finding, ['withdrawn']) })
      : button({ label: t('why_overrule'), act: () => this.overrule(finding, ['rejected', 'asserted']) })}</div>
      ${this.saveFault ? errorView(this.saveFault) : ''}`;
  }

  private async overrule(finding: Finding, verdicts: Overruling['verdict'][]): Promise<void> {
    const given = await openDialog<Pick<Overruling, 'verdict' | 'reason'>>(`${t('why_your_word')}: ${sentence(finding.title)}`, (close) => html`
      <form class="stack" @submit=${(event: Event) => {
        event.preventDefault();
        const form = new FormData(event.target as HTMLFormElement);
        close({ verdict: (form.get('verdict') ?? verdicts[0]) as Overruling['verdict'], reason: String(form.get('reason') ?? '').trim() });
      }}>${verdicts.length > 1 ? choice({ id: 'verdict', label: t('why_verdict'), value: verdicts[0]!, options: verdicts.map((one) => [one, wordFor('why_verdict', one)]) }) : ''}
        ${field({ id: 'reason', label: t('why_reason'), hint: t('why_reason_hint'), type: 'textarea', required: true, length: 1000, value: this.unwritten?.finding === finding.id ? this.unwritten.reason : '' })}
        <p class="small quiet">${t('why_kept')}</p>
        <div class="row end">${button({ label: t('no_back'), act: () => close() })}${button({ label: t('why_write'), kind: 'first', submit: true })}</div></form>`);
    if (!given || !given.reason) return;
    await this.write({ finding: finding.id, verdict: given.verdict, reason: given.reason, who: session.value?.name ?? '', date: today() });
  }

  private async write(word: Overruling, again = false): Promise<void> {
    this.saveFault = undefined;
    this.unwritten = word;
    const kept = this.word!;
    const document: Overrulings = { schema: 'lintel-overrulings-1', athlete: kept.document.athlete || this.athlete.document.athlete.id || this.athlete.id,
      overrulings: [...(kept.document.overrulings ?? []), word] };
    try {
      const { data } = await api.put<RecordOf<Overrulings>>(`/visits/${this.visitId}/overrulings`, document, { version: kept.version });
      this.word = data;
      this.unwritten = undefined;
      this.answer = await this.readFindings();
      say(t('why_written'));
    } catch (error) {
      this.saveFault = Fault.of(error);
      if (this.saveFault.status === 412 && !again) await this.meet(word, kept.document.overrulings ?? []);
    }
  }

  /** Somebody wrote a word meanwhile: this one goes under theirs, unless theirs is of the same finding; then one looks first. */
  private async meet(word: Overruling, before: Overruling[]): Promise<void> {
    try {
      this.word = await this.readWord();
      if (!this.word.document.overrulings.slice(before.length).some((one) => one.finding === word.finding)) return await this.write(word, true);
      this.answer = await this.readFindings();
    } catch (error) {
      this.saveFault = Fault.of(error);
    }
  }

  // Findings that are no part of the lean: arms, sides, tests against the posture.
  private others(answer: FindingsAnswer): TemplateResult | '' {
    const parts = new Set(answer.explanation?.parts.map((part) => part.factor) ?? []);
    const others = answer.findings.filter((finding) => !parts.has(finding.id));
    if (others.length === 0 && answer.remarks.length === 0) return '';
    return html`<section class="course" aria-labelledby="others"><header><h2 id="others">${t('why_others')}</h2></header>
      ${others.map((finding) => html`<details class="finding"><summary><strong>${sentence(finding.title)}</strong>${finding.confidence ? html` <span class="tag">${wordFor('why_confidence', finding.confidence)}</span>` : ''}
        <span>${nice(finding.sentence)}</span></summary>${this.evidence({ ...finding, sentence: '' })}</details>`)}
      ${answer.remarks.map((remark) => html`<p>${nice(remark)}</p>`)}
      <p class="small quiet">${nice(answer.how_sure)}</p></section>`;
  }

  private nextTest(answer: FindingsAnswer): TemplateResult | '' {
    const next = answer.next_tests;
    // "Enough is known" beside "too little is known to tell" would contradict it.
    if (!next || (next.stop !== 'not_yet' && answer.explanation?.cannot_tell)) return '';
    // The first, and what tells something besides (as `lintel findings` does).
    const shown = next.options.slice(0, 3).filter((option, i) => i === 0 || option.worth.information_bits >= 0.02);
    return html`<section class="course" aria-labelledby="next-test"><header><h2 id="next-test">${next.stop === 'not_yet' ? t('why_next_test') : t('why_enough')}</h2></header>
      <p>${nice(next.sentence)}</p>
      ${next.stop === 'not_yet' ? html`<ol class="stack gap-1">${shown.map((option) => html`<li><strong>${sentence(option.label)}</strong>
        <span class="bits" aria-hidden="true"><span ${look({ width: `${Math.min(100, option.worth.probability_right * 100)}%` })}></span></span>
        <span class="small quiet">${nice(option.why)}</span></li>`)}</ol>
        <div>${button({ label: t('visit_do_tests'), href: `${this.base}/tests` })}</div>` : ''}</section>`;
  }
}
