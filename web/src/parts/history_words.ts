// A document of a record as lines that people read, and what differs between two of them.
import { settings } from '../shell/store.js';
import { formatQuantity } from '../units.js';
import { currentLanguage, day, plural, t, wordFor, type Key } from '../words/index.js';
import { drillName } from './library_names.js';

export interface Line { key: string; label: string; text: string }
export interface Change { key: string; label: string; before: string | undefined; after: string | undefined }
/** Names of tests by id, where the document holds ids alone. */
export type Names = Record<string, string>;

type Json = Record<string, unknown>;
const isObject = (value: unknown): value is Json => typeof value === 'object' && value !== null && !Array.isArray(value);
const list = (value: unknown): Json[] => (Array.isArray(value) ? value.filter(isObject) : []);
const texts = (value: unknown): string[] => (Array.isArray(value) ? value.filter((one) => typeof one !== 'object').map(String) : []);

/** Words of the catalogue for a field by its path, and from which family the values are. */
const labels: Record<string, Key> = {
  'athlete.name': 'full_name', birth_date: 'birth_date', 'athlete.sex': 'sex', 'athlete.body.stature_cm': 'stature', 'athlete.body.mass_kg': 'mass', 'athlete.warning_signs': 'field_warning_signs',
  sport: 'sport', history: 'history', notes: 'field_notes', tags: 'tags', minutes: 'minutes', sessions_per_week: 'per_week', equipment: 'equipment',
  'goal.lift': 'lift', 'goal.trunk_deg': 'goal_angle', 'goal.date': 'field_goal_date', 'goal.words': 'goal_words', 'consent.given': 'consent', 'consent.by': 'field_consent_by', 'consent.date': 'field_consent_date',
  stance_width_cm: 'stance_width', toe_out_deg: 'toe_out', heel_elevation_cm: 'heel_elevation', grip_width_cm: 'grip_width', bar_mass_kg: 'bar_mass',
  'corrections.vertical_deg': 'player_vertical', vertical_deg: 'player_vertical', 'corrections.disc_mm': 'player_disc', 'corrections.person': 'field_person', view: 'visit_view', name: 'name',
};
const families: Record<string, string> = { warning_signs: 'sign', equipment: 'equipment', lift: 'lift', sex: 'sex', view: 'visit_view', side: 'side', verdict: 'why_verdict', method: 'trunk_method' };
/** What the program keeps for itself. */
const hidden = new Set(['schema', 'id', 'sha256', 'media', 'cautions', 'seed', 'visit', 'trial', 'clip', 'athlete.id', 'athlete.schema', 'files', 'upload', 'job']);
const units = new Set(['cm', 'mm', 'm', 'deg', 'kg', 's', 'min', 'percent', 'px']);

const unitOf = (key: string): string => {
  const last = key.slice(key.lastIndexOf('_') + 1);
  return key.includes('_') && units.has(last) ? last : '';
};
const quantity = (value: number, unit: string): string => formatQuantity(value, unit, settings.value.units, currentLanguage(), Number.isInteger(value) ? 0 : 1);

/** "Knee to wall left" of "knee_to_wall_left_cm", where the catalogue has no better word. */
function labelOf(path: string): string {
  const name = path.slice(path.lastIndexOf('.') + 1);
  const known = labels[path] ?? labels[name];
  if (known) return t(known as 'full_name');
  const unit = unitOf(name);
  for (const words of [wordFor('field', name), wordFor('body', name)]) {
    if (words !== plain(name)) return words;
  }
  return plain(unit ? name.slice(0, -unit.length - 1) : name);
}
function plain(name: string): string {
  const words = name.replace(/[_-]+/g, ' ').trim();
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** One value as people write it: a number in its unit, a day, a word of the catalogue, a list. */
function valueText(key: string, value: unknown): string {
  const name = key.slice(key.lastIndexOf('.') + 1);
  if (value === null || value === undefined || value === '') return '';
  if (typeof value === 'boolean') return value ? t('yes') : t('no');
  if (typeof value === 'number') return quantity(value, unitOf(name));
  const family = families[name];
  if (typeof value === 'string') {
    if (/^\d{4}-\d\d-\d\d/.test(value) && value.length <= 24) return day(value);
    return family ? wordFor(family, value) : value;
  }
  if (isObject(value) && typeof value['value'] === 'number') {
    const error = value['standard_error'];
    return quantity(value['value'], unitOf(name)) + (typeof error === 'number' ? ` ± ${quantity(error, unitOf(name))}` : '');
  }
  if (Array.isArray(value)) return value.map((one) => (isObject(one) ? inWords(one) : family ? wordFor(family, String(one)) : valueText(name, one))).join(', ');
  return isObject(value) ? inWords(value) : String(value);
}
/** A small object in one line: "sets 3, hold 30 s". */
function inWords(value: Json): string {
  return Object.entries(value).filter(([key, one]) => !hidden.has(key) && one !== null).map(([key, one]) => `${labelOf(key).toLowerCase()} ${valueText(key, one)}`).join(', ');
}

/** Every field that is shown by itself; objects one inside the other become paths. */
function fields(value: Json, path = '', skip: readonly string[] = []): Line[] {
  const lines: Line[] = [];
  for (const [name, one] of Object.entries(value)) {
    const key = path + name;
    if (hidden.has(name) || hidden.has(key) || skip.includes(key)) continue;
    if (isObject(one) && typeof one['value'] !== 'number') { lines.push(...fields(one, `${key}.`, skip)); continue; }
    if (Array.isArray(one) && one.some(isObject)) {
      list(one).forEach((item, i) => lines.push({ key: `${key}.${String(item['id'] ?? i)}`, label: `${labelOf(key)} ${i + 1}`, text: inWords(item) }));
      continue;
    }
    const text = valueText(key, one);
    if (text !== '') lines.push({ key, label: labelOf(key), text });
  }
  return lines;
}

const sideText = (side: unknown): string => (side === 'left' || side === 'right' ? `, ${wordFor('side', side).toLowerCase()}` : '');

function testLines(document: Json, names: Names): Line[] {
  const lines = fields(document, '', ['results', 'athlete', 'standard_errors']);
  for (const one of list(document['results'])) {
    const tries = Object.entries(one).find(([key]) => /^tries_(cm|deg|s)$/.test(key));
    const unit = tries ? unitOf(tries[0]) : '';
    const values = tries ? (tries[1] as number[]) : [];
    const photo = one['photo'];
    const moved = isObject(photo) ? texts(photo['moved']).map((point) => wordFor('player_point', point)).join(', ') : '';
    const parts = [values.map((value) => quantity(value, unit)).join('; '), one['reached'] === true ? t('field_reached') : '', isObject(photo) ? t('field_by_photo') : String(one['device'] ?? ''),
      moved ? t('field_moved_by_hand', { points: moved }) : '', String(one['notes'] ?? '')];
    const protocol = String(one['protocol']);
    lines.push({ key: `results.${protocol}.${String(one['side'] ?? 'both')}`, label: (names[protocol] ?? plain(protocol)) + sideText(one['side']), text: parts.filter(Boolean).join(' · ') });
  }
  for (const one of list(document['standard_errors'])) {
    const protocol = String(one['protocol']);
    lines.push({ key: `standard_errors.${protocol}`, label: `${t('field_standard_error')}: ${names[protocol] ?? plain(protocol)}`, text: fields(one, '', ['protocol']).map((line) => line.text).join(' · ') });
  }
  return lines;
}

function decisionLines(document: Json): Line[] {
  return list(document['overrulings']).map((one, i) => ({
    key: `overrulings.${String(one['finding'])}.${i}`, label: wordFor('part', String(one['finding'])),
    text: [wordFor('why_verdict', String(one['verdict'])), typeof one['size_deg'] === 'number' ? quantity(one['size_deg'], 'deg') : '', String(one['reason'] ?? ''), [one['who'], day(String(one['date'] ?? ''))].filter(Boolean).join(', ')].filter(Boolean).join(' · '),
  }));
}

const pointName = (landmark: string): string => {
  const [, side, point] = /^(left|right)_(.+)$/.exec(landmark) ?? [undefined, '', landmark];
  return wordFor('player_point', point ?? landmark) + sideText(side);
};

function trialLines(document: Json): Line[] {
  const lines = fields(document, '', ['corrections', 'results', 'state', 'measured']);
  if (typeof document['state'] === 'string') lines.push({ key: 'state', label: t('field_state'), text: wordFor('trial_state', document['state']) });
  const files = list(document['results']);
  if (files.length) lines.push({ key: 'results', label: t('field_results'), text: plural('field_files', files.length) });
  const corrections = isObject(document['corrections']) ? document['corrections'] : {};
  lines.push(...fields({ corrections: { ...corrections, points: null, events: null } }));
  for (const one of list(corrections['events'])) {
    lines.push({ key: `event.${String(one['repetition'])}.${String(one['event'])}`, label: t('field_corrections_event', { n: String(one['repetition']), moment: wordFor('player_moment', String(one['event'])) }),
      text: t('field_picture', { frame: String(one['frame']) }) });
  }
  for (const one of list(corrections['points'])) {
    lines.push({ key: `point.${String(one['frame'])}.${String(one['landmark'])}`, label: t('field_corrections_point', { point: pointName(String(one['landmark'])), frame: String(one['frame']) }),
      text: t('field_at_px', { x: Math.round(Number(one['x_px'])), y: Math.round(Number(one['y_px'])) }) });
  }
  return lines;
}

function doseText(dose: Json): string {
  const [sets, repetitions, hold, times] = ['sets', 'repetitions', 'hold_s', 'times_per_week'].map((key) => Number(dose[key] ?? 0)) as [number, number, number, number];
  const work = hold > 0 && repetitions <= 1 ? t('plan_dose_hold', { sets, hold }) : t('plan_dose', { sets, repetitions }) + (hold > 0 ? `, ${t('plan_hold_each', { hold })}` : '');
  return times > 0 ? `${work} · ${t('plan_times', { n: times })}` : work;
}

function planLines(document: Json): Line[] {
  const plan = isObject(document['plan']) ? document['plan'] : {};
  const lines: Line[] = [
    { key: 'span', label: t('field_plan_span'), text: `${day(String(plan['from'] ?? ''))} – ${day(String(plan['last_day'] ?? ''))}` },
    { key: 'minutes', label: t('field_plan_minutes'), text: `${quantity(Number(plan['minutes_per_session'] ?? 0), 'min')}, ${String(plan['sessions_per_week'] ?? '')}` },
    { key: 'equipment', label: t('field_equipment'), text: valueText('equipment', plan['equipment']) },
  ];
  list(plan['goals']).forEach((goal) => {
    const key = Object.keys(goal).find((name) => name.startsWith('target_'));
    if (key) lines.push({ key: `goal.${String(goal['code'])}`, label: wordFor('goal', String(goal['code'])), text: `${valueText(key, goal[key])}, ${day(String(goal['date'] ?? ''))}` });
  });
  list(plan['setup_changes']).forEach((change, i) => lines.push({ key: `change.${i}`, label: t('field_plan_change'), text: String(change['text'] ?? inWords(change)) }));
  for (const drill of list(plan['drills'])) {
    const step = typeof drill['step_name'] === 'string' && drill['step_name'] ? drill['step_name'] : t('field_step', { n: Number(drill['step'] ?? 1) });
    lines.push({ key: `drill.${String(drill['id'])}`, label: drillName({ id: String(drill['id']), name: String(drill['name'] ?? drill['id']) }), text: `${isObject(drill['dose']) ? doseText(drill['dose']) : ''} · ${step}` });
  }
  texts(plan['notes']).forEach((note, i) => lines.push({ key: `note.${i}`, label: t('field_plan_note'), text: note }));
  return lines.filter((line) => line.text.trim() !== '' && line.text.trim() !== '–');
}

function sessionLines(document: Json): Line[] {
  const lines = fields(document, '', ['drills', 'athlete']);
  for (const one of list(document['drills'])) {
    const { drill, ...rest } = one;
    lines.push({ key: `drill.${String(drill)}`, label: drillName({ id: String(drill), name: plain(String(drill)) }), text: inWords(rest) });
  }
  return lines;
}

function visitLines(document: Json): Line[] {
  const { trunk, ...rest } = document;
  return isObject(trunk) ? [...fields(rest), { key: 'trunk', label: t('field_trunk'), text: trunkText(trunk as unknown as TypedTrunk) }] : fields(rest);
}

export interface TypedTrunk { inclination_deg: number; standard_error_deg: number; method: string }
/** "48° ± 4, seen by eye". */
export function trunkText(trunk: TypedTrunk): string {
  return `${quantity(trunk.inclination_deg, 'deg')} ± ${quantity(trunk.standard_error_deg, 'deg')}, ${wordFor('trunk_method', trunk.method)}`;
}

/** The document of this kind of record, a line for each thing that may change. */
export function linesOf(kind: string, document: unknown, names: Names = {}): Line[] {
  if (!isObject(document)) return [];
  switch (kind) {
    case 'tests': return testLines(document, names);
    case 'overrulings': return decisionLines(document);
    case 'trial': return trialLines(document);
    case 'plan': return planLines(document);
    case 'session_log': return sessionLines(document);
    case 'visit': return visitLines(document);
    default: return fields(document);
  }
}

/** What is other in the second list: in its order, what is gone at the end. */
export function changesOf(before: readonly Line[], after: readonly Line[]): Change[] {
  const old = new Map(before.map((line) => [line.key, line]));
  const kept = new Set(after.map((line) => line.key));
  const changed = after.filter((line) => old.get(line.key)?.text !== line.text)
    .map((line) => ({ key: line.key, label: line.label, before: old.get(line.key)?.text, after: line.text }));
  return [...changed, ...before.filter((line) => !kept.has(line.key)).map((line) => ({ key: line.key, label: line.label, before: line.text, after: undefined }))];
}
