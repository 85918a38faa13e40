// What the API answers, as far as these pages read it (docs/api/openapi.json is the whole of it).
export interface List<T> { items: T[]; next?: string | null }
export interface RecordOf<D> {
  id: string; kind: string; version: number; state: 'active' | 'archived' | 'withdrawn';
  created_at: string; created_by: string; changed_at: string; changed_by: string;
  athlete?: string; parent?: string; reason?: string; document: D;
}
export type Role = 'owner' | 'practitioner' | 'assistant' | 'athlete' | 'reviewer';
export interface ServerStatus { version: string; needs_owner: boolean; tls?: boolean }
export interface Session {
  person: string; name: string; login: string; role: Role; organization: string; organization_name: string;
  athlete: string | null; csrf_token: string; permissions: string[];
}
export interface CaseloadRow {
  athlete: string; name: string; birth_date?: string | null; sex?: string | null; tags?: string[];
  last_visit?: string | null; last_session?: string | null; next_due?: string | null; due_what?: string | null;
  last_trunk_deg?: number | null; last_trunk_error_deg?: number | null;
}
export type CaseloadView = 'all' | 'today' | 'due' | 'stalled' | 'new' | 'archived';
export interface CaseloadList extends List<CaseloadRow> { counts: Record<CaseloadView, number> }

export interface AthleteDocument {
  schema: 'lintel-athlete-1'; id: string; name: string; sex?: 'female' | 'male';
  body: { stature_cm?: number; mass_kg?: number; [key: string]: unknown };
  setup?: Record<string, unknown>;
  tests?: Record<string, unknown>;
  warning_signs?: string[];
  [key: string]: unknown;
}
export interface Intake {
  schema: 'lintel-intake-1'; athlete: AthleteDocument; birth_date?: string; sport?: string;
  goal?: { lift?: string; trunk_deg?: number; date?: string; words?: string };
  history?: string; consent?: { given: boolean; date?: string; by?: string };
  tags?: string[]; minutes?: number; sessions_per_week?: number; equipment?: string[]; notes?: string;
}
export interface TimelineItem {
  record: string; kind: string; date: string; parent?: string; state: string; version: number; created_by: string; changed_at: string;
  [key: string]: unknown;
}
export interface TrendSetup { own: boolean; differs: { key: string; value: number | string | null; own: number | string | null }[] }
export interface TrendSeries {
  name: string; label: string; kind: 'test' | 'measure'; side: 'left' | 'right' | 'both' | null; unit: string;
  better: 'higher' | 'lower' | null;
  /** Of a test, of clips (all in one setup), or typed into visits without a clip. */
  source: 'test' | 'clip' | 'typed'; setup: TrendSetup | null;
  points: { date: string; value: number; error: number; record: string; method?: string }[];
  detectable_change: number | null; change: number | null;
  verdict: 'one_session' | 'improved' | 'no_detectable_change' | 'worse' | 'changed';
  target: number | null; target_date: string | null;
  forecast: { date: string; value: number; low: number; high: number }[];
}
export interface Trends { series: TrendSeries[]; cautions: { code: string; text: string }[] }
export interface Visit { date: string; purpose?: string; notes?: string; trunk?: { inclination_deg: number; standard_error_deg: number; method: string } }

export interface Person {
  id: string; name: string; login: string; role: Role; state: 'active' | 'invited' | 'inactive'; athlete: string | null; version: number;
  signed_in_at: string | null; invitation?: { secret: string; expires_at: string };
}
export interface Token { id: string; name: string; scopes: string[]; created_at: string; expires_at: string; last_used_at: string | null; token?: string }
export interface OwnSession { id: string; created_at: string; last_used_at: string; expires_at: string; idle_until: string; peer: string | null; current: boolean }
export interface Organization { id: string; name: string; version: number }
export interface AuditEntry {
  sequence: number; at: string; person: string | null; action: string; record: string | null; athlete: string | null; detail: string | null;
}
export interface AuditVerdict { whole: boolean; rows: number; first_broken: number | null; fault: string | null }
export interface Backup { name?: string; bytes?: number; made_at?: string; [key: string]: unknown }

export interface ProtocolRow {
  id: string; name: string; unit: string; sides: string; tries: number; minutes: number; informs: string | null;
  reach_allowed: boolean; photo_allowed: boolean; built_in: boolean; state?: 'active' | 'archived'; own_error?: boolean;
}
export interface Sourced { value?: number; source?: string; label?: string }
export interface ProtocolCard {
  protocol: {
    id: string; name: string; purpose: string; position: string; steps: string[]; equipment: string[]; unit: string; sides: string;
    better: string; tries: number; minutes: number; pass_line?: Sourced & { relative_to?: string };
    norms?: { population: string; mean: number; standard_deviation?: number; source: string }[];
    standard_error?: Sourced & { tries?: number }; side_difference?: Sourced; informs?: { text?: string; source?: string };
    cautions?: string[]; not_with?: string[]; photo?: { camera?: string; source?: string };
  };
  built_in?: boolean;
  cautions: { code: string; text: string }[];
}
export interface DrillRow { id: string; name: string; parts: string[]; mode: string; equipment: (string | string[])[]; steps: number; loaded: boolean; built_in?: boolean; state?: 'active' | 'archived' }
