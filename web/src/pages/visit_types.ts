// The documents of a visit as the program gives them; only what these pages read.
// The schemas in docs/schema are the source.

export interface Estimate { value: number; standard_error: number }
export interface Interval { value: number; low: number; high: number }
export interface Caution { code: string; text: string }

export interface Moment { frame: number; time_s: number }
export interface ChannelOfRepetition { start: Estimate; bottom: Estimate; change: Estimate }
export interface Repetition {
  number: number;
  outcome: string;
  start: Moment;
  bottom: Moment;
  end: Moment;
  descent_s: number;
  ascent_s: number;
  below_parallel: boolean;
  shoulder_change_demanded_deg: Estimate | null;
  shoulder_change_given_deg: Estimate | null;
  channels: Record<string, ChannelOfRepetition>;
}

export interface Assessment {
  schema: string;
  assessed_on: string;
  version?: number;
  athlete: { id: string; name: string };
  clip: { file_name: string; width_px: number; height_px: number; frame_rate_hz: number;
    frame_count: number; duration_s: number; sha256: string };
  setup: Record<string, number | string>;
  camera: { view: string; near_side: string; facing: string; yaw_deg: Estimate | null;
    roll_deg: Estimate | null; pitch_deg: Estimate | null; distance_m: Estimate | null;
    yaw_corrected: boolean };
  scale: { source: string; pixels_per_metre: Estimate | null };
  warnings: { code: string; message: string; advice: string }[];
  repetitions: Repetition[];
  consistency?: { repetitions: number; bottom: Record<string, { mean: number; standard_deviation: number }> } | null;
  explanation?: AssessmentExplanation | null;
  cautions: Caution[];
}

export interface AssessmentExplanation {
  observed_trunk_inclination_deg: Estimate | null;
  most_upright_trunk_inclination_deg: Estimate | null;
  parts: { factor: string; label: string; share_deg: number;
    interval_95_deg: { low: number; high: number } | null; probability_largest: number }[];
  cannot_tell: string | null;
  missing_tests: string[];
  sentences: string[];
}

export interface Curve { fitted: (number | null)[]; error: (number | null)[]; raw: (number | null)[]; unit: string }
export interface Curves { time_s: number[]; frame: number[]; channels: Record<string, Curve> }

export interface Spread { mean: number; standard_deviation: number; low: number; high: number }
export interface LeanPart {
  factor: string;
  label: string;
  share_deg: number;
  spread_95_deg: Spread | null;
  probability_largest: number;
}

export interface Change { lever: string; [key: string]: number | string | null }
export interface Cost { code: string; text: string }
export interface WhatIfRow {
  changes: Change[];
  trunk_inclination_deg: number;
  trunk_change_deg: Estimate;
  shoulder_change_deg: number | null;
  within_all_limits: boolean;
  costs: Cost[];
}
export interface WhatIfTable {
  most_upright_trunk_inclination_deg: number;
  single: WhatIfRow[];
  best_pair: WhatIfRow | null;
  best_triple: WhatIfRow | null;
  best_setup: WhatIfRow | null;
}

export interface Grip {
  recommended_cm: number;
  reason: string;
  today_cm: number;
  reserve_today_deg: number;
  pass_through_today: boolean;
}

export interface Explanation {
  schema: string;
  setup: Record<string, number | string>;
  reference_setup: Record<string, number | string>;
  observed_trunk_inclination_deg: Estimate | null;
  reference_trunk_inclination_deg: number;
  most_upright_trunk_inclination_deg: { value: number; spread_95_deg: Spread };
  whole_deg: number;
  parts: LeanPart[];
  missing_tests: { test: string; label: string; leaves_open_deg: number }[];
  tests_done: number;
  what_if: WhatIfTable | null;
  grip: Grip | null;
  cannot_tell: string | null;
  sentences: string[];
  cautions: Caution[];
}

export interface Evidence {
  source: 'test' | 'video' | 'model' | string;
  bearing: 'supports' | 'contradicts' | 'neutral' | string;
  code: string;
  text: string;
  test: string | null;
  side: string | null;
  repetition: number | null;
  frame: number | null;
  [key: string]: unknown;
}

export interface Overruling { finding: string; verdict: 'rejected' | 'asserted' | 'withdrawn'; reason: string; who: string; date: string }

export interface Finding {
  id: string;
  kind: string;
  part: string | null;
  side: string | null;
  status: string;
  title: string;
  sentence: string;
  size_of: string | null;
  size_95_deg: Interval | null;
  probability: number | null;
  probability_largest: number | null;
  confidence: string | null;
  /** Where the evidence disagrees: how that is read. */
  conflict?: string | null;
  evidence: Evidence[];
  overruling: Overruling | null;
  earlier_overrulings: Overruling[];
}

export interface SetupToFilm {
  changes: Change[];
  how: string;
  why: string;
  shows: string;
  trunk_change_95_deg: Interval;
  within_allowed: boolean;
  costs: Cost[];
}

export interface TestOption {
  test: string;
  label: string;
  repeat: boolean;
  worth: { gain_deg: number; information_bits: number; probability_right: number };
  why: string;
}

export interface Findings {
  schema: string;
  how_sure: string;
  findings: Finding[];
  setups_to_film: SetupToFilm[];
  next_tests: { stop: string; sentence: string; probability_right_now: number; options: TestOption[] } | null;
  remarks: string[];
  explanation?: Explanation | null;
  cautions: Caution[];
}

// --- tests -----------------------------------------------------------------------------------
export interface ProtocolListed {
  id: string;
  name: string;
  unit: string;
  sides: string;
  tries: number;
  minutes: number;
  informs: string | null;
  reach_allowed: boolean;
  photo_allowed: boolean;
  state?: 'active' | 'archived';
}
export interface Protocol {
  id: string;
  name: string;
  purpose: string;
  position: string;
  steps: string[];
  equipment: string[];
  unit: 'deg' | 'cm' | 's';
  sides: 'each' | 'both' | string;
  better: 'higher' | 'lower';
  tries: number;
  minutes: number;
  allowed_range: { low: number; high: number };
  pass_line: { relative_to?: string; value: number; label?: string; source: string } | null;
  norms: { population: string; mean: number; standard_deviation?: number; source: string }[];
  standard_error: { value: number; tries: number; source: string };
  informs: { test: string; text: string } | null;
  cautions: string[];
  not_with: string[];
  photo: { camera: string; measure: string; by_hand?: string[]; first?: unknown; second?: unknown } | null;
}
export interface TestResultEntry {
  protocol: string;
  side?: string;
  tries_deg?: number[];
  tries_cm?: number[];
  tries_s?: number[];
  reached?: boolean;
  device?: string;
  photo?: Record<string, unknown>;
  [key: string]: unknown;
}
export interface TestRecord {
  schema: 'lintel-tests-1';
  athlete: string;
  date: string;
  tester?: string;
  hand_breadth_cm?: number;
  results: TestResultEntry[];
}
export interface TestOutcomeRow {
  protocol: string;
  name: string;
  side: string;
  pass: { passes: boolean; probability: number; within_error: boolean; label: string; source: string;
    [line: string]: unknown } | null;
  cautions: string[];
  [key: string]: unknown;
}
export interface TestsOutcome {
  results: TestOutcomeRow[];
  sides: { protocol: string; beyond_error: boolean; beyond_usual: boolean; [key: string]: unknown }[];
  remarks: string[];
  cautions: Caution[];
}
export interface PhotoPoint { position_px: [number, number]; standard_error_px: number; placed_by: 'network' | 'hand' }
export interface TestPhoto {
  protocol: string;
  side: string;
  picture: { width_px: number; height_px: number };
  points: Record<string, PhotoPoint>;
  originals: Record<string, PhotoPoint>;
  known_length: { length_cm: number; from_px: [number, number]; to_px: [number, number] } | null;
  far_side?: boolean;
  record_entry: TestResultEntry;
  cautions: Caution[];
  [key: string]: unknown;
}

// --- plan ------------------------------------------------------------------------------------
export interface Dose { sets: number; repetitions?: number; hold_s?: number; times_per_week: number; minutes_per_session: number }
export interface PlanDrill {
  id: string;
  name: string;
  part: string;
  dose: Dose;
  step: number;
  step_name: string;
  step_how: string;
  move_on: string;
  loaded: boolean;
  reason: string;
  cues: string[];
  cautions: string[];
  source: string;
}
export interface Plan {
  schema: string;
  from: string;
  last_day: string;
  weeks: number;
  sessions_per_week: number;
  minutes_per_session: number;
  equipment: string[];
  warning_signs: (string | { code: string; text?: string })[];
  clearance: string;
  referral: string;
  setup_changes: { lever: string; text: string; lean_gain_deg: Estimate }[];
  goals: { code: string; measure: string; date: string; probability: number; basis: string;
    [key: string]: unknown }[];
  drills: PlanDrill[];
  schedule: { week: number; start: string; deload: boolean;
    sessions: { date: string; minutes: number; items: { drill: string; sets: number; minutes: number }[] }[] }[];
  retests: { test: string; label: string; date: string; detectable: boolean; reason: string }[];
  stop_rules: string[];
  notes: string[];
  seated_hold?: { ladder?: { week: number; surface_height_cm: number; on_surface_kg: number; on_feet_kg: number;
    trunk_inclination_deg: number }[] } | null;
  cautions: Caution[];
}
export interface DrillCard {
  id: string;
  name: string;
  purpose: string;
  position: string;
  steps: string[];
  cues: string[];
  doses: Dose[];
  ladder: { name: string; how: string; easier?: string; harder?: string; move_on: string; loaded: boolean }[];
}
export interface Progress {
  tests: { protocol: string; name: string; side: string; verdict: string; [key: string]: unknown }[];
  drills: { drill: string; name: string; decision: string; step: number; step_name: string; next_step: number;
    next_step_name: string; reason: string }[];
  watch: unknown[];
  loads: { allowed: boolean; why: string; note?: string | null; weeks: { week: number; plan_week?: number | null; stage: string; at_most_kg: number | null;
    sets: number; repetitions: number; lighter_week: boolean }[] } | null;
  warning_signs: string[];
  cautions: Caution[];
}
