// What every screen of a visit knows: the visit, its athlete, its clips, and how they hang together.
import { html, type TemplateResult } from 'lit';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import type { TypedTrunk } from '../parts/history_words.js';
import { Page } from '../shell/page.js';
import { settings, type Action, type Frame } from '../shell/store.js';
import { formatNumber, formatQuantity } from '../units.js';
import { currentLanguage, day, sentence, t, wordFor } from '../words/index.js';
import type { Assessment, Curves, Findings } from './visit_types.js';

export { cautionsView } from '../parts/views.js';

export interface RecordOf<D> {
  id: string;
  kind: string;
  version: number;
  state: string;
  created_at: string;
  created_by: string;
  changed_at: string;
  changed_by: string;
  athlete: string | null;
  parent: string | null;
  document: D;
}
export interface VisitDocument { date: string; purpose?: string; notes?: string; trunk?: TypedTrunk }
export interface AthleteFile {
  schema: string; id?: string; name: string; sex?: string;
  body: { stature_cm: number; mass_kg: number; [key: string]: unknown };
  setup?: Record<string, number | string>;
  tests?: Record<string, unknown>;
  warning_signs?: string[];
  [key: string]: unknown;
}
export interface IntakeDocument {
  athlete: AthleteFile;
  minutes?: number;
  sessions_per_week?: number;
  equipment?: string[];
  goal?: { lift?: string; trunk_deg?: number; date?: string; words?: string };
  [key: string]: unknown;
}
export interface MovedPoint { frame: number; landmark: string; x_px: number; y_px: number }
export interface ShiftedEvent { repetition: number; event: 'start' | 'bottom' | 'end'; frame: number }
export interface Corrections {
  points?: MovedPoint[];
  events?: ShiftedEvent[];
  person?: number | null;
  vertical_deg?: number | null;
  disc_mm?: number | null;
}
export interface TrialDocument {
  name?: string;
  view?: string;
  state?: string;
  setup?: Record<string, number | string> | null;
  person?: number | null;
  vertical_deg?: number | null;
  corrections?: Corrections | null;
  results?: { name: string; media_type?: string }[];
  /** When the newest measurement read tests and body. */
  measured?: { at: string } | null;
  clip?: { name?: string };
  fault?: string | null;
  mend?: string | null;
  [key: string]: unknown;
}
export interface JobOfTrial { id: string; state: string; stage?: string; done?: number; total?: number;
  progress?: { stage: string; done: number; total: number } }
export type TrialRecord = RecordOf<TrialDocument> & { job?: JobOfTrial | null };

export const fileOf = (trial: string, name: string): string => `/api/v1/trials/${trial}/files/${name}`;
export const clipOf = (trial: string): string => `/api/v1/trials/${trial}/clip`;

/** Is there a measurement to look at? */
export function measured(trial: TrialRecord): boolean {
  if (trial.document.state) return trial.document.state === 'measured';
  return (trial.document.results?.length ?? 0) > 0;
}

export function trialName(trial: TrialRecord, number: number): string {
  return trial.document.name || t('visit_trial_n', { n: number });
}

/** "39°", "0.4 cm": a value in its unit, in the units of this device. */
export function shown(value: number | null | undefined, unit: string, places?: number): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return t('visit_unknown_value');
  return formatQuantity(value, unit, settings.value.units, currentLanguage(), places);
}
export function shownNumber(value: number, unit: string, places?: number): string {
  return formatNumber(value, unit, settings.value.units, currentLanguage(), places);
}
/** "39° ± 2". */
export function shownWithError(value: number | null | undefined, error: number | null | undefined, unit: string, places?: number): string {
  const text = shown(value, unit, places);
  if (error === null || error === undefined || !Number.isFinite(error)) return text;
  return `${text} ± ${shownNumber(error, unit, places)}`;
}

/** "trunk_inclination_deg" -> "deg". */
export const unitOfKey = (key: string): string => key.slice(key.lastIndexOf('_') + 1);

export abstract class VisitPage extends Page {
  protected visit!: RecordOf<VisitDocument>;
  protected athlete!: RecordOf<IntakeDocument>;
  protected trials: TrialRecord[] = [];

  protected get visitId(): string { return this.params['visit'] ?? ''; }
  protected get name(): string { return this.athlete?.document.athlete.name ?? ''; }
  protected get measuredTrials(): TrialRecord[] { return this.trials.filter(measured); }
  protected get base(): string { return `/visits/${this.visitId}`; }

  protected override async load(): Promise<void> {
    const signal = this.leaving.signal;
    const [visit, trials] = await Promise.all([
      api.get<RecordOf<VisitDocument>>(`/visits/${this.visitId}`, { signal }),
      api.all<TrialRecord>(`/visits/${this.visitId}/trials`, { signal }),
    ]);
    this.visit = visit.data;
    this.trials = trials.sort((a, b) => a.created_at.localeCompare(b.created_at));
    const athlete = visit.data.athlete ?? visit.data.parent ?? '';
    this.athlete = (await api.get<RecordOf<IntakeDocument>>(`/athletes/${athlete}`, { signal })).data;
  }

  protected abstract heading(): string;
  protected actions(): Action[] { return []; }

  protected override around(): Partial<Frame> {
    if (!this.visit || !this.athlete) return { place: [{ label: this.heading() }] };
    const athlete = { id: this.athlete.id, name: this.name };
    const date = this.visit.document.date;
    return {
      athlete, visit: { id: this.visit.id, date },
      place: [
        { label: this.name, href: `/athletes/${athlete.id}` },
        { label: day(date), href: this.base },
        { label: this.heading() },
      ],
      next: this.actions(),
    };
  }

  /** What stops the loaded part, first on every screen with advice. */
  protected signs(): TemplateResult | '' {
    const signs = this.athlete?.document.athlete.warning_signs ?? [];
    if (signs.length === 0) return '';
    return html`<section class="sign stop-sign" aria-label=${t('visit_signs')}>
      <strong>${t('visit_signs_stop', { signs: signs.map((sign) => wordFor('sign', sign)).join(', ') })}</strong>
      <p>${t('visit_signs_what')}</p></section>`;
  }

  protected assessmentOf(trial: string): Promise<Assessment> {
    return api.get<Assessment>(`/trials/${trial}/assessment`, { signal: this.leaving.signal }).then((answer) => answer.data);
  }
  protected curvesOf(trial: string): Promise<Curves> {
    return api.get<Curves>(`/trials/${trial}/curves`, { signal: this.leaving.signal }).then((answer) => answer.data);
  }
  protected findings(query: Record<string, string | number> = {}): Promise<Findings> {
    return api.get<Findings>(`/visits/${this.visitId}/findings`, { signal: this.leaving.signal, query }).then((answer) => answer.data);
  }
}

/** What a job does just now, in words. */
export const stageWords = (stage: string): string => wordFor('visit_stage', stage.replaceAll(' ', '_'));

/** The two purposes that the app itself writes, in the language of today; others are somebody's own words. */
export function purposeWords(purpose: string | undefined): string {
  if (purpose === 'First visit' || purpose === 'Erster Termin') return t('purpose_first');
  if (purpose === 'Re-test' || purpose === 'Nachtest' || purpose === 'Wiederholung') return t('purpose_retest');
  return purpose ?? '';
}

/** Sentences of the server are plain text: in the language of the app, degrees and plus-minus as people write them. */
export function nice(text: string): string {
  return sentence(text).replace(/(\d) deg(rees)?\b/g, '$1°').replaceAll('+/-', '±').replace(/(^|[ (])-(\d)/g, '$1−$2');
}

/** Undefined instead of a fault where there is nothing yet. */
export async function orNothing<T>(asked: Promise<T>): Promise<T | undefined> {
  try {
    return await asked;
  } catch (error) {
    const fault = Fault.of(error);
    if (fault.missing || fault.status === 409 || fault.status === 422) return undefined;
    throw error;
  }
}

/** The page's heading with the plumb line that hangs from the beam. */
export function head(title: string, lead: string | TemplateResult = '', aside: TemplateResult | '' = ''): TemplateResult {
  return html`<header class="page-head hang"><h1>${title}</h1>${aside}
    ${lead ? html`<p class="lead">${lead}</p>` : ''}</header>`;
}
