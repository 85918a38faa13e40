// Live: the camera's picture with the figure over it, the lean as a number, a tone beyond a chosen angle. It says what
// rate and delay it really reaches.
import { html, svg, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import { api, randomId, send } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { button } from '../parts/controls.js';
import { look } from '../parts/look.js';
import { quantity } from '../parts/quantity.js';
import { cautionsView, errorView } from '../parts/views.js';
import { Page } from '../shell/page.js';
import type { Frame } from '../shell/store.js';
import { currentLanguage, day, t } from '../words/index.js';
import { LiveSender, type LiveRate } from './live_sender.js';
import { Tone } from './live_tone.js';
import { unitOf } from './player_overlay.js';
import { drawDisc, drawFigure, drawPlumbLine, type Disc, type Figure } from './visit_figure.js';
import { degrees, distance, midway, type Point } from './visit_geometry.js';
import { head, type IntakeDocument, type RecordOf, type VisitDocument } from './visit_base.js';

interface LiveLandmark { name: string; x_px: number; y_px: number; confidence?: number }
interface LiveAnswer {
  width_px?: number;
  height_px?: number;
  landmarks?: LiveLandmark[] | Record<string, [number, number, number?]> | null;
  trunk_deg: number | null;
  bar?: Record<string, number> | null;
  ms?: number;
}
/** As the camera gives it: cut to the wanted shape an upright picture would lose the feet. */
const uncut = { resizeMode: { ideal: 'none' } } as MediaTrackConstraints;

interface LiveNow { figure: Figure; bar: Disc | null; trunk: number | null; width: number; height: number }

@customElement('page-live')
export class LivePage extends Page {
  @state() private running = false;
  @state() private now: LiveNow | undefined;
  @state() private rate: LiveRate = { perSecond: 0, delayMs: 0 };
  @state() private cameraFault: Fault | undefined;
  @state() private limit = 40;
  @state() private toneOn = true;
  @state() private cameras: MediaDeviceInfo[] = [];
  @state() private camera = '';
  private visit: RecordOf<VisitDocument> | undefined;
  private athlete: RecordOf<IntakeDocument> | undefined;
  private readonly tone = new Tone();
  private stream: MediaStream | undefined;
  private sender: LiveSender<LiveAnswer> | undefined;
  private readonly session = randomId();
  private turn = 0;

  protected override async load(): Promise<void> {
    const visit = this.params['visit'];
    if (!visit) return;
    const signal = this.leaving.signal;
    this.visit = (await api.get<RecordOf<VisitDocument>>(`/visits/${visit}`, { signal })).data;
    this.athlete = (await api.get<RecordOf<IntakeDocument>>(`/athletes/${this.visit.athlete ?? this.visit.parent}`, { signal })).data;
  }

  protected override around(): Partial<Frame> {
    if (!this.visit || !this.athlete) return { place: [{ label: t('live_title') }] };
    const base = `/visits/${this.visit.id}`;
    return {
      athlete: { id: this.athlete.id, name: this.athlete.document.athlete.name }, visit: { id: this.visit.id, date: this.visit.document.date },
      place: [{ label: this.athlete.document.athlete.name, href: `/athletes/${this.athlete.id}` }, { label: day(this.visit.document.date), href: base }, { label: t('live_title') }],
      next: [{ label: t('visit_do_film'), href: `${base}/film`, first: true }, { label: t('visit_do_tests'), href: `${base}/tests` }],
    };
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.stop();
  }

  private get video(): HTMLVideoElement | null { return this.querySelector('video'); }

  private async start(): Promise<void> {
    this.cameraFault = undefined;
    const turn = ++this.turn;
    this.tone.start();
    try {
      if (!navigator.mediaDevices) throw new DOMException('no camera', 'SecurityError');
      const stream = await navigator.mediaDevices.getUserMedia({ audio: false,
        video: { ...(this.camera ? { deviceId: { exact: this.camera } } : { facingMode: 'environment' }), width: { ideal: 1280 }, height: { ideal: 720 }, frameRate: { ideal: 30 },
          ...uncut } });
      // Stopped, left or started anew while one was asked for leave: no camera stays on.
      if (turn !== this.turn) { for (const track of stream.getTracks()) track.stop(); return; }
      this.stream = stream;
      this.cameras = (await navigator.mediaDevices.enumerateDevices()).filter((device) => device.kind === 'videoinput');
      const video = this.video!;
      video.srcObject = this.stream;
      await video.play();
      if (turn !== this.turn) return;
      this.running = true;
      const stature = this.athlete?.document.athlete.body.stature_cm;
      this.sender = new LiveSender<LiveAnswer>(video, (picture) => this.ask(picture, stature), (answer, size, rate) => this.show(answer, size, rate),
        (error) => { this.cameraFault = Fault.of(error); });
      this.sender.start();
    } catch (error) {
      if (turn !== this.turn) return;
      this.stop();
      this.cameraFault = cameraFault(error);
    }
  }

  private async ask(picture: Blob, stature: number | undefined): Promise<LiveAnswer> {
    const answer = await send('POST', '/live', picture, { query: { session: this.session, stature_cm: stature }, headers: { 'Content-Type': 'image/jpeg' }, signal: this.leaving.signal });
    return (await answer.json()) as LiveAnswer;
  }

  private show(answer: LiveAnswer, size: { width: number; height: number }, rate: LiveRate): void {
    this.cameraFault = undefined;
    this.rate = rate;
    const trunk = answer.trunk_deg ?? null;
    this.now = { ...bodyOf(answer), trunk, width: answer.width_px ?? size.width, height: answer.height_px ?? size.height };
    this.tone.beyond(this.toneOn && trunk !== null ? trunk - this.limit : null);
  }

  private stop(): void {
    this.turn++;
    this.sender?.stop();
    this.sender = undefined;
    this.tone.stop();
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    this.stream = undefined;
    this.running = false;
  }

  protected override view(): TemplateResult {
    const beyond = this.now?.trunk !== null && this.now !== undefined && this.now.trunk! > this.limit;
    const size = this.now ?? { width: 16, height: 9 };
    return html`${head(t('live_title'), t('live_lead'))}
      <div class="live">
        <div class=${`screen live-screen ${beyond ? 'beyond' : ''}`} ${look({ '--ratio': size.width / size.height })}>
          <video muted playsinline aria-label=${t('live_picture')}></video>
          <svg class="over on-picture" viewBox="0 0 ${size.width} ${size.height}" aria-hidden="true">${this.drawing()}</svg>
          ${this.running ? '' : html`<div class="live-start">${button({ label: t('live_start'), kind: 'first', act: () => this.start() })}</div>`}
        </div>
        <div class="stack gap-3">
          <div class="live-number" aria-live="off">${quantity({ value: this.now?.trunk ?? null, unit: 'deg', size: 'huge' })}<span class="quiet">${this.running && this.now && this.now.trunk === null ? t('live_nobody') : t('live_trunk')}</span>
            ${beyond ? html`<strong class="fault-line">${t('live_beyond', { angle: this.limit })}</strong>` : ''}</div>
          <div class="slider"><label for="live-limit">${t('live_limit')}</label><output>${this.limit}°</output>
            <div class="track"><input id="live-limit" type="range" min="10" max="70" step="1" .value=${live(String(this.limit))} @input=${(event: Event) => { this.limit = Number((event.target as HTMLInputElement).value); }}></div></div>
          <div class="row">${button({ label: t('live_tone'), pressed: this.toneOn, act: () => { this.toneOn = !this.toneOn; this.tone.beyond(null); } })}
            ${this.running ? button({ label: t('live_stop'), act: () => { this.stop(); this.now = undefined; } }) : ''}</div>
          ${this.cameras.length > 1 ? html`<div class="field"><label for="live-camera">${t('live_camera')}</label><div class="well"><select id="live-camera" @change=${(event: Event) => { this.camera = (event.target as HTMLSelectElement).value; this.stop(); void this.start(); }}>
            ${this.cameras.map((one, i) => html`<option value=${one.deviceId} ?selected=${one.deviceId === this.camera}>${one.label || `${t('live_camera')} ${i + 1}`}</option>`)}</select><span class="chevron"></span></div></div>` : ''}
          <p class="live-rate small quiet" data-rate=${this.rate.perSecond.toFixed(2)} data-delay=${Math.round(this.rate.delayMs)}>${this.running && this.rate.delayMs > 0
            ? t('live_rate', { rate: new Intl.NumberFormat(currentLanguage(), { maximumFractionDigits: 1 }).format(this.rate.perSecond), delay: Math.round(this.rate.delayMs) }) : t('live_rate_unknown')}</p>
          <p class="small quiet">${t('live_honest')}</p>
          ${this.cameraFault ? errorView(this.cameraFault) : ''}
        </div></div>
      ${cautionsView(undefined)}`;
  }

  private drawing() {
    const now = this.now;
    if (!now) return svg``;
    const unit = unitOf(now.width, now.height);
    const { figure } = now;
    const size = figure.hip && figure.shoulder ? 0.15 * distance(figure.hip, figure.shoulder) : 20;
    return svg`${now.bar ? drawDisc(now.bar, unit) : ''}${drawFigure(figure, { unit, headRadius: size })}
      ${figure.mid_foot ? drawPlumbLine(figure.mid_foot, figure.mid_foot[1], 0, unit) : ''}
      ${now.bar ? svg`<path class="bar-line" stroke-width=${2.4 * unit} d="M${now.bar.at[0]} ${now.bar.at[1]}V${now.height}"/>` : ''}`;
  }
}

function cameraFault(error: unknown): Fault {
  const name = error instanceof DOMException ? error.name : '';
  if (name === 'NotAllowedError') return new Fault(422, t('live_not_allowed'), t('live_not_allowed'), { mend: t('live_not_allowed_mend') });
  if (name === 'SecurityError') return new Fault(422, t('live_insecure'), t('live_insecure'), { mend: t('live_insecure_mend') });
  if (name) return new Fault(422, t('live_no_camera'), t('live_no_camera'), { mend: t('live_no_camera_mend') });
  return Fault.of(error);
}

function landmarksOf(answer: LiveAnswer): Map<string, { at: Point; confidence: number }> {
  const found = new Map<string, { at: Point; confidence: number }>();
  const landmarks = answer.landmarks;
  if (Array.isArray(landmarks)) for (const one of landmarks) found.set(one.name, { at: [one.x_px, one.y_px], confidence: one.confidence ?? 1 });
  else for (const [name, [x, y, confidence]] of Object.entries(landmarks ?? {})) found.set(name, { at: [x, y], confidence: confidence ?? 1 });
  return found;
}

/** The side that is seen better, and the bar's disc. */
function bodyOf(answer: LiveAnswer): { figure: Figure; bar: Disc | null } {
  const points = landmarksOf(answer);
  const seen = (side: string) => ['shoulder', 'hip', 'knee', 'ankle'].reduce((sum, name) => sum + (points.get(`${side}_${name}`)?.confidence ?? 0), 0);
  const side = seen('left') > seen('right') ? 'left' : 'right';
  const figure: Figure = {};
  for (const name of ['shoulder', 'elbow', 'wrist', 'hip', 'knee', 'ankle', 'heel', 'toe'] as const) {
    const point = points.get(`${side}_${name}`);
    if (point && point.confidence > 0.2) figure[name] = point.at;
  }
  const nose = points.get('nose');
  const ear = points.get(`${side}_ear`);
  if (nose && ear) figure.head = midway(nose.at, ear.at);
  if (figure.heel && figure.toe) figure.mid_foot = midway(figure.heel, figure.toe);
  const bar = answer.bar;
  const x = bar?.['center_x_px'] ?? bar?.['x_px'];
  const y = bar?.['center_y_px'] ?? bar?.['y_px'];
  if (x === undefined || y === undefined) return { figure, bar: null };
  const radius = bar?.['semi_major_px'] ?? bar?.['radius_px'] ?? 40;
  return { figure, bar: { at: [x, y], rx: radius, ry: bar?.['semi_minor_px'] ?? radius, turned_deg: bar?.['major_axis_angle_deg'] ?? degrees(bar?.['major_axis_angle_rad'] ?? 0) } };
}
