// A test from a photo: the network suggests the points, a person moves them, the number follows with its error.
import { html, svg, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { api, send } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button, choice, field } from '../parts/controls.js';
import { followPointer, nudged } from '../parts/handle.js';
import { protocolName } from '../parts/library_names.js';
import { loadProtocolWords, protocolInWords } from '../parts/protocol_words.js';
import { look } from '../parts/look.js';
import { coming, errorView } from '../parts/views.js';
import { quantity, quantityText } from '../parts/quantity.js';
import { go } from '../shell/router.js';
import { say, settings, type Action } from '../shell/store.js';
import { fromShown, readNumber, shownAs } from '../units.js';
import { t, wordFor } from '../words/index.js';
import { cautionsView, head, VisitPage } from './visit_base.js';
import { icon } from './visit_icons.js';
import { along, clamp, distance, text, type Point } from './visit_geometry.js';
import { entryOf, readTests, sidesOf, triesOf, withEntries, writeTests, type Side, type TestsRecord } from './tests_data.js';
import type { Caution, Protocol, TestPhoto, TestResultEntry } from './visit_types.js';

const longest = 2000; // [px] of the picture that is sent
const lengthEnds = ['length_from', 'length_to'] as const;
const lengths = [1, 1000] as const; // [cm] that the server takes

const isEnd = (name: string): boolean => (lengthEnds as readonly string[]).includes(name);

@customElement('page-protractor')
export class Protractor extends VisitPage {
  @state() private protocol: Protocol | undefined;
  @state() private record: TestsRecord | undefined;
  @state() private side: Side = 'left';
  @state() private picture: { blob: Blob; url: string; width: number; height: number } | undefined;
  @state() private reading: TestPhoto | undefined;
  @state() private moved: Record<string, Point> = {};
  @state() private busy = false;
  @state() private taking = false;
  @state() private photoFault: Fault | undefined;
  /** Of the length that is known, where the test is a distance [cm]. */
  @state() private length: number | undefined;
  @state() private lengthFault = '';
  private lengthText = '';
  private cautions: Caution[] = [];
  private asking: ReturnType<typeof setTimeout> | undefined;
  private turn = 0;

  protected override heading(): string { return t('photo_title'); }
  private get isDistance(): boolean { return this.protocol?.photo?.measure === 'distance'; }
  private get protocolId(): string { return this.params['protocol'] ?? ''; }

  protected override async load(): Promise<void> {
    await super.load();
    const signal = this.leaving.signal;
    const [card, record] = await Promise.all([
      api.get<{ protocol: Protocol; cautions: Caution[] }>(`/protocols/${this.protocolId}`, { signal }), readTests(this.visitId, signal)]);
    await loadProtocolWords();
    this.protocol = protocolInWords(card.data.protocol);
    this.cautions = card.data.cautions;
    this.record = record;
    const sides = sidesOf(this.protocol);
    const wanted = this.query.get('side') as Side;
    this.side = sides.includes(wanted) ? wanted : sides[0]!;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.asking);
    if (this.picture) URL.revokeObjectURL(this.picture.url);
  }

  protected override actions(): Action[] {
    const actions: Action[] = [];
    if (this.reading) actions.push({ label: t('photo_take_value'), first: true, act: () => void this.take(), disabled: this.taking });
    actions.push({ label: t('photo_by_hand'), href: `${this.base}/tests/${this.protocolId}` }, { label: t('tests_all'), href: `${this.base}/tests` });
    return actions;
  }

  private async choose(files: FileList | null): Promise<void> {
    const file = files?.[0];
    if (!file) return;
    this.photoFault = undefined;
    this.forget();
    try {
      const bitmap = await createImageBitmap(file, { imageOrientation: 'from-image' });
      const scale = Math.min(1, longest / Math.max(bitmap.width, bitmap.height));
      const canvas = document.createElement('canvas');
      canvas.width = Math.round(bitmap.width * scale);
      canvas.height = Math.round(bitmap.height * scale);
      canvas.getContext('2d')!.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
      const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, 'image/jpeg', 0.92));
      if (!blob) throw new Error('no picture');
      if (this.picture) URL.revokeObjectURL(this.picture.url);
      this.picture = { blob, url: URL.createObjectURL(blob), width: canvas.width, height: canvas.height };
      // What no network finds (a wall, a table's edge) starts in the middle and is put there by hand.
      this.moved = Object.fromEntries((this.protocol!.photo?.by_hand ?? []).map((name, i) => [name, [canvas.width * 0.6, canvas.height * (0.5 + 0.1 * i)] as Point]));
      if (this.isDistance) lengthEnds.forEach((name, i) => { this.moved[name] = [canvas.width * (0.25 + 0.5 * i), canvas.height * 0.9]; });
      await this.measure(false);
    } catch {
      this.photoFault = new Fault(422, t('photo_unreadable'), t('photo_unreadable'), { mend: t('photo_unreadable_mend') });
    }
  }

  /** What was read is no longer what is on the screen; neither is an answer that is on its way. */
  private forget(): void {
    this.turn++;
    clearTimeout(this.asking);
    this.reading = undefined;
    this.busy = false;
    this.settle();
  }

  /** Answers what was read; nothing if it failed or something was changed meanwhile. */
  private async measure(keep: boolean): Promise<TestPhoto | undefined> {
    const picture = this.picture!;
    const turn = ++this.turn;
    clearTimeout(this.asking);
    if (this.isDistance && this.length === undefined) return undefined;
    this.busy = true;
    this.photoFault = undefined;
    const points = Object.fromEntries(Object.entries(this.moved).filter(([name]) => !isEnd(name)).map(([name, [x, y]]) => [name, [Math.round(x * 10) / 10, Math.round(y * 10) / 10]]));
    const ends = lengthEnds.flatMap((name) => this.moved[name] ?? []).map((one) => one.toFixed(1)).join(',');
    const query = { protocol: this.protocolId, side: this.side || undefined, keep: keep || undefined,
      points: Object.keys(points).length > 0 ? JSON.stringify(points) : undefined,
      known_length_cm: this.isDistance ? this.length : undefined, between: this.isDistance ? ends : undefined };
    try {
      const answer = await send('POST', `/visits/${this.visitId}/test-photo`, picture.blob, { query, headers: { 'Content-Type': 'image/jpeg' }, signal: this.leaving.signal });
      if (turn === this.turn) this.reading = (await answer.json()) as TestPhoto;
    } catch (error) {
      if (turn === this.turn && !(error instanceof DOMException)) this.photoFault = Fault.of(error);
    }
    if (turn !== this.turn) return undefined;
    this.busy = false;
    this.settle();
    return this.photoFault ? undefined : this.reading;
  }

  private movePoint(name: string, to: Point, done: boolean): void {
    const picture = this.picture!;
    this.moved = { ...this.moved, [name]: [clamp(to[0], 0, picture.width), clamp(to[1], 0, picture.height)] };
    clearTimeout(this.asking);
    if (done) this.asking = setTimeout(() => void this.measure(false), 350);
  }

  private typeLength(text: string): void {
    this.lengthText = text;
    const value = fromShown(readNumber(text), 'cm', settings.value.units);
    const sound = value >= lengths[0] && value <= lengths[1];
    const [low, high] = lengths.map((one) => quantityText(one, 'cm', null, 0)) as [string, string];
    this.lengthFault = sound || text.trim() === '' ? '' : t('photo_length_between', { low, high });
    this.length = sound ? value : undefined;
    if (!sound) return this.forget();
    clearTimeout(this.asking);
    if (this.picture) this.asking = setTimeout(() => void this.measure(false), 350);
  }

  private placeOf(name: string): Point | undefined {
    return this.moved[name] ?? this.reading?.points[name]?.position_px;
  }

  private async take(): Promise<void> {
    if (this.taking) return;
    this.taking = true;
    this.settle();
    try {
      const { side } = this;
      const reading = await this.measure(true); // with every point where it stands now
      if (reading) await this.write(reading, side);
    } finally {
      this.taking = false;
      if (this.isConnected) this.settle();
    }
  }

  private async write(reading: TestPhoto, side: Side): Promise<void> {
    const { unit, id } = this.protocol!;
    const old = entryOf(this.record!, id, side);
    const fresh = reading.record_entry;
    const tries = [...triesOf(old, unit), ...triesOf(fresh, unit)];
    const entry: TestResultEntry = old && triesOf(old, unit).length > 0 ? { ...old, ...fresh, [`tries_${unit}`]: tries } : fresh;
    try {
      const saved = await writeTests(this.visitId, this.record!, withEntries(this.record!, [entry]), `${this.name}: ${protocolName(this.protocol!)}`);
      say(saved ? t('photo_taken') : t('tests_kept'));
      await go(`${this.base}/tests/${id}`);
    } catch (error) {
      this.photoFault = Fault.of(error);
      // Somebody entered the same test: the next press adds this to theirs.
      if (this.photoFault.stale) this.record = await readTests(this.visitId, this.leaving.signal).catch(() => this.record);
    }
  }

  protected override view(): TemplateResult {
    const protocol = this.protocol!;
    const sides = sidesOf(protocol);
    return html`${head(protocolName(protocol), t('photo_lead'))}
      ${this.signs()}
      <div class="protractor" ?inert=${this.taking}>
        <div class="photo-stage">${this.picture ? this.stage() : this.pick()}</div>
        <div class="stack gap-2">
          ${sides.length > 1 ? choice({ id: 'photo-side', label: t('photo_side'), value: this.side, options: sides.map((side) => [side, wordFor('side', side)]),
            change: (side) => { this.side = side as Side; if (this.picture) void this.measure(false); } }) : ''}
          ${protocol.photo ? html`<p class="quiet">${protocol.photo.camera}</p>` : ''}
          ${this.isDistance ? this.lengthField() : ''}
          ${this.result()}
          ${this.photoFault ? errorView(this.photoFault) : ''}
          ${this.photoFault && this.picture && this.missing.length > 0 ? html`<div>${button({ label: t('photo_place_all'), act: () => this.placeAll() })}</div>` : ''}
          ${this.picture ? this.buttons() : ''}
        </div></div>
      ${cautionsView(this.cautions)}`;
  }

  private lengthField(): TemplateResult {
    return html`${field({ id: 'known-length', label: t('photo_length'), type: 'number', unit: shownAs('cm', settings.value.units).label, hint: t('photo_length_hint'), fault: this.lengthFault,
      value: this.lengthText, input: (text) => this.typeLength(text) })}
      ${this.picture && this.length === undefined ? html`<p class="sign" role="status">${t('photo_length_first')}</p>` : ''}`;
  }

  private pick(): TemplateResult {
    const taken = (event: Event) => void this.choose((event.target as HTMLInputElement).files);
    return html`<div class="drop tall" @dragover=${(event: DragEvent) => event.preventDefault()} @drop=${(event: DragEvent) => { event.preventDefault(); void this.choose(event.dataTransfer?.files ?? null); }}>
      <img class="drawing" alt="" src="/api/v1/protocols/${this.protocolId}/drawing.svg">
      <input id="photo-camera" class="for-ears" type="file" accept="image/*" capture="environment" tabindex="-1" aria-hidden="true" @change=${taken}>
      <input id="photo-file" class="for-ears" type="file" accept="image/*" tabindex="-1" aria-hidden="true" @change=${taken}>
      <div class="film-ways"><button class="film-way" @click=${() => this.querySelector<HTMLInputElement>('#photo-camera')?.click()}>${icon('camera')}<span>${t('photo_way_camera')}</span></button>
        <button class="film-way" @click=${() => this.querySelector<HTMLInputElement>('#photo-file')?.click()}>${icon('photo')}<span>${t('photo_way_file')}</span></button></div></div>`;
  }

  private stage(): TemplateResult {
    const picture = this.picture!;
    const names = [...new Set([...Object.keys(this.reading?.points ?? {}), ...Object.keys(this.moved)])];
    return html`<div class="screen photo" ${look({ '--ratio': picture.width / picture.height })}>
      <img src=${picture.url} alt=${t('photo_picture')}>
      <svg class="over on-picture" viewBox="0 0 ${picture.width} ${picture.height}" aria-hidden="true">${this.lines()}</svg>
      ${names.map((name) => this.handle(name))}</div>`;
  }

  // The two directions between which the angle lies, as the protocol names them.
  private lines() {
    const photo = this.protocol!.photo;
    const picture = this.picture!;
    const unit = Math.max(picture.width, picture.height) / 900;
    const drawn: TemplateResult[] = [];
    for (const side of [photo?.first, photo?.second]) {
      if (!Array.isArray(side)) continue;
      const [a, b] = (side as string[]).map((name) => this.placeOf(name));
      if (a && b) drawn.push(svg`<path class="photo-line-edge" stroke-width=${9 * unit} d="M${text(a)}L${text(b)}"/><path class="photo-line" stroke-width=${5 * unit} d="M${text(a)}L${text(b)}"/>`);
    }
    const [start, finish] = lengthEnds.map((name) => this.moved[name]);
    if (start && finish) drawn.push(svg`<path class="photo-line-edge" stroke-width=${7 * unit} d="M${text(start)}L${text(finish)}"/><path class="photo-length" stroke-width=${4 * unit} d="M${text(start)}L${text(finish)}"/>`);
    const pair = Array.isArray(photo?.second) ? (photo!.second as string[]) : [];
    const [from, to] = pair.map((name) => this.placeOf(name));
    if (from && to && (photo?.first === 'up' || photo?.first === 'down')) {
      const end = along(from, photo.first === 'up' ? 0 : 180, distance(from, to));
      drawn.push(svg`<path class="photo-line-edge" stroke-width=${6 * unit} d="M${text(from)}L${text(end)}"/><path class="photo-plumb" stroke-width=${3 * unit} d="M${text(from)}L${text(end)}"/>`);
    }
    return svg`${drawn}`;
  }

  private handle(name: string): TemplateResult {
    const picture = this.picture!;
    const at = this.placeOf(name);
    if (!at) return html``;
    const byHand = name in this.moved;
    return html`<button class=${`handle${byHand ? ' by-hand' : ''}${this.wordsLeft(name, at) ? ' words-left' : ''}`} data-point=${name} ${look({ left: `${(100 * at[0]) / picture.width}%`, top: `${(100 * at[1]) / picture.height}%` })}
      aria-label=${t('player_handle', { point: wordFor('player_point', name), x: Math.round(at[0]), y: Math.round(at[1]) })}
      @pointerdown=${(event: PointerEvent) => this.drag(event, name)} @keydown=${(event: KeyboardEvent) => this.nudge(event, name, at)}>
      <span aria-hidden="true"></span><small>${isEnd(name) ? wordFor('photo_end', name) : wordFor('player_point', name)}</small></button>`;
  }

  /** Words stand to the left of a point near the right edge, and of one that has a neighbour on its right. */
  private wordsLeft(name: string, at: Point): boolean {
    const { width, height } = this.picture!;
    const names = new Set([...Object.keys(this.reading?.points ?? {}), ...Object.keys(this.moved)]);
    return at[0] > 0.7 * width || [...names].some((other) => {
      const place = this.placeOf(other);
      return other !== name && place !== undefined && place[0] > at[0] && place[0] - at[0] < 0.3 * width && Math.abs(place[1] - at[1]) < 0.06 * height;
    });
  }

  private drag(event: PointerEvent, name: string): void {
    followPointer(event, this.querySelector('.screen')!, this.picture!, (to, done) => this.movePoint(name, to, done));
  }

  private nudge(event: KeyboardEvent, name: string, at: Point): void {
    const to = nudged(event, at);
    if (to) this.movePoint(name, to, true);
  }

  private result(): TemplateResult {
    const unit = this.protocol!.unit;
    const value = this.reading?.[`result_${unit}`] as { value: number; standard_error: number } | undefined;
    if (!value) return this.busy ? coming(t('photo_looking')) : html``;
    const parts = this.reading?.[`error_parts_${unit}`] as Record<string, number> | undefined;
    return html`<div role="status">${quantity({ value: value.value, error: value.standard_error, unit, size: 'huge' })}
      ${this.busy ? html`<p class="small quiet">${t('photo_looking')}</p>` : ''}
      ${this.reading?.far_side ? html`<p class="sign">${t('photo_far_side')}</p>` : ''}</div>
      ${parts ? html`<details class="numbers"><summary>${t('photo_errors')}</summary><dl class="terms">${Object.entries(parts).map(([name, part]) => html`<dt>${wordFor('photo_error', name)}</dt><dd>${quantity({ value: part, unit, places: 1 })}</dd>`)}</dl></details>` : ''}`;
  }

  /** Points of the test that nobody has placed: the network found none, for example. */
  private get missing(): string[] {
    const photo = this.protocol!.photo;
    const wanted = [photo?.first, photo?.second].flatMap((side) => (Array.isArray(side) ? (side as string[]) : []));
    return [...new Set(wanted)].filter((name) => !this.placeOf(name));
  }
  private placeAll(): void {
    const picture = this.picture!;
    this.missing.forEach((name, i) => { this.moved = { ...this.moved, [name]: [picture.width * 0.4, picture.height * (0.25 + 0.12 * i)] }; });
    void this.measure(false);
  }

  /** What nobody but a person places: it stays where it is. */
  private byHandAlone(): Record<string, Point> {
    const alone = [...(this.protocol!.photo?.by_hand ?? []), ...lengthEnds];
    return Object.fromEntries(Object.entries(this.moved).filter(([name]) => alone.includes(name)));
  }

  private buttons(): TemplateResult {
    const suggested = Object.entries(this.reading?.points ?? {}).some(([name, point]) => name in this.moved && point.placed_by !== undefined && name in (this.reading?.originals ?? {}));
    return html`<div class="row">${button({ label: t('photo_take_value'), kind: 'first', disabled: !this.reading || this.busy || this.taking, act: () => this.take() })}
      ${suggested ? button({ label: t('photo_suggested'), icon: icon('undo'), act: () => { this.moved = this.byHandAlone(); void this.measure(false); } }) : ''}
      ${button({ label: t('photo_other'), act: () => { this.forget(); this.picture = undefined; this.moved = {}; } })}</div>
      <p class="small quiet">${t('photo_move_how')}</p>`;
  }
}
