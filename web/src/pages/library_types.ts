// The workplace's own tests and drills as these pages read and write them (docs/schema/protocol, drill, drawing), and what a
// form offers to choose from.
import type { Caution } from '../parts/views.js';

export interface FieldFault { field: string; detail: string; mend?: string }
export interface CheckAnswer { faults: FieldFault[]; drawing_svg: string | null }
export interface OwnRecord { id: string; version: number; state: 'active' | 'archived'; changed_at: string; changed_by: string }

export interface StandardError { value: number; tries: number; share_between_tries?: number; source: string }
export interface OwnError extends StandardError { version: number; changed_at: string; changed_by: string }
export type Draftable = Record<string, unknown> & { id?: string; name?: string };

export interface ProtocolLibraryCard {
  protocol: Draftable & { unit: string; name: string; standard_error?: StandardError };
  built_in: boolean;
  record?: OwnRecord | null;
  published_standard_error?: StandardError | null;
  own_standard_error?: OwnError | null;
  cautions: Caution[];
}
export interface DrillLibraryCard { drill: Draftable & { name: string }; built_in: boolean; record?: OwnRecord | null; cautions: Caution[] }
export type LibraryCard = ProtocolLibraryCard | DrillLibraryCard;
export const documentOf = (card: LibraryCard): Draftable => ('protocol' in card ? card.protocol : card.drill);

export const signs = ['pain', 'numbness', 'dizziness', 'shoulder_instability', 'recent_surgery', 'recent_fracture', 'nerve_root_signs',
  'uncontrolled_blood_pressure', 'pregnancy', 'fever', 'bladder_or_bowel_change'];
/** What a test may need; anything else can be written in. */
export const testEquipment = ['inclinometer', 'goniometer', 'tape measure', 'stop watch', 'wall', 'table', 'mat', 'chair', 'box', 'plastic pipe', 'towel', 'skin pencil', 'strip of paper', 'pad'];
export const drillEquipment = ['pipe', 'bar', 'discs', 'box', 'ball', 'chair', 'bench', 'roller', 'band', 'pull_up_bar', 'wedge', 'scale', 'kettlebell', 'rack'];
/** What of the posture model a test can fill. */
export const slots = ['ankle_dorsiflexion', 'knee_to_wall', 'knee_flexion', 'hip_flexion', 'hip_external_rotation', 'hip_internal_rotation', 'hip_abduction',
  'lumbar_flexion', 'thoracic_rotation', 'thoracic_extension', 'shoulder_flexion', 'arm_to_wall_turned_in', 'arm_to_wall_turned_out'];
export const parts = ['ankle', 'hip', 'thorax', 'shoulder', 'latissimus', 'stance', 'toe_out', 'heel', 'grip', 'habit'];
export const modes = ['static_stretch', 'mobilisation', 'loaded_range', 'skill'];
/** What a source says when there is none; the server wants these very words. */
export const noSource = 'common practice, no source';

/** Somebody who stands, on a floor: where a drawing begins. */
const standing = () => ({ panels: [{ caption: '', view: 'side', figures: [{ at: { joint: 'ankle', x_cm: 0, y_cm: 8 }, facing: 'right', trunk_deg: 0 }], props: [{ kind: 'floor' }], marks: [] }] });
export const emptyProtocol = (): Draftable => ({
  schema: 'lintel-protocol-1', name: '', purpose: '', position: '', steps: [''], equipment: [], unit: 'deg', sides: 'each', better: 'higher', tries: 3, minutes: 4,
  allowed_range: {}, norms_note: '', norms: [], standard_error: { tries: 3 }, informs: { text: '', source: '' }, cautions: [''], not_with: [], drawing: standing(),
});
export const emptyDrill = (): Draftable => ({
  schema: 'lintel-drill-1', name: '', purpose: '', targets: [{ part: 'ankle' }], mode: 'mobilisation', position: '', steps: [''], cues: [''], equipment: [],
  doses: [{ sets: 2, repetitions: 10, hold_s: 0, times_per_week: 3, minutes_per_session: 5 }], dose_source: '', ladder: [{ name: '', how: '', easier: '', harder: '', move_on: '', good_sessions: 3, effort_at_most: 6, loaded: false }],
  prerequisites: [], loaded: false, cautions: [''], not_with: [], source: '', drawing: standing(),
});
