// The drawing of a test or drill by numbers and sliders: panels with a figure, props, marks (docs/drawings.md). The picture
// itself is the server's.
import { html, nothing, type TemplateResult } from 'lit';
import { button, check, choice } from '../parts/controls.js';
import { icons } from '../parts/icons.js';
import { t, wordFor } from '../words/index.js';
import type { Draft } from './library_draft.js';
import { addAndGo, angleSlider, entryButtons, flag, groupFault, numberField, selectField, textField } from './library_fields.js';
import type { Draftable } from './library_types.js';

type View = 'side' | 'front' | 'top';
const paired = ['shoulder', 'elbow', 'wrist', 'hand', 'hip', 'knee', 'ankle', 'heel', 'toe'];
const joints = ['crown', 'head', 'neck', 'pelvis', ...paired];
const sidesIn = (view: View): [string, string] => (view === 'side' ? ['near', 'far'] : ['left', 'right']);

/** One angle for the whole body, or a pair of limbs; `of`: from what it takes its usual direction. */
interface AngleLook { key: string; range: [number, number]; usual: number; of?: string }
const trunkAngles: AngleLook[] = [
  { key: 'trunk', range: [-180, 180], usual: 0 }, { key: 'thorax', range: [-180, 180], usual: 0, of: 'trunk' }, { key: 'head', range: [-180, 180], usual: 0, of: 'thorax' }];
const lineAngles: AngleLook[] = [{ key: 'shoulder_line', range: [-90, 270], usual: 90 }, { key: 'hip_line', range: [-90, 270], usual: 90 }];
const limbAngles: AngleLook[] = [
  { key: 'upper_arm', range: [-90, 270], usual: 180 }, { key: 'forearm', range: [-90, 270], usual: 180, of: 'upper_arm' }, { key: 'hand', range: [-90, 270], usual: 180, of: 'forearm' },
  { key: 'thigh', range: [0, 360], usual: 180 }, { key: 'shank', range: [0, 360], usual: 180, of: 'thigh' }, { key: 'foot', range: [-90, 270], usual: 90 }];

const propFields: Record<string, string[]> = {
  floor: ['y_cm'], wall: ['x_cm', 'side'], box: ['x_cm', 'y_cm', 'width_cm', 'height_cm'], bench: ['x_cm', 'y_cm', 'width_cm', 'height_cm'], mat: ['x_cm', 'y_cm', 'width_cm', 'height_cm'],
  scale: ['x_cm', 'y_cm', 'width_cm', 'height_cm'], chair: ['x_cm', 'y_cm', 'width_cm', 'height_cm', 'side'], wedge: ['x_cm', 'y_cm', 'width_cm', 'height_cm', 'side'],
  ball: ['x_cm', 'y_cm', 'radius_cm'], roller: ['x_cm', 'y_cm', 'radius_cm'], plate: ['x_cm', 'y_cm', 'radius_cm'], pipe: [], bar: [], tape: ['from', 'to'], band: ['from', 'to'],
  dumbbell: ['at'], kettlebell: ['at'],
};
const freshProps: Record<string, object> = {
  floor: {}, wall: { x_cm: 40, side: 'right' }, box: { x_cm: 20, y_cm: 0, width_cm: 40, height_cm: 40 }, bench: { x_cm: -60, y_cm: 0, width_cm: 120, height_cm: 45 }, mat: { x_cm: -60, y_cm: 0, width_cm: 120, height_cm: 4 },
  scale: { x_cm: -15, y_cm: 0, width_cm: 30, height_cm: 4 }, chair: { x_cm: -50, y_cm: 0, width_cm: 45, height_cm: 45, side: 'left' }, wedge: { x_cm: -8, y_cm: 0, width_cm: 20, height_cm: 4, side: 'left' },
  ball: { x_cm: 30, y_cm: 12, radius_cm: 12 }, roller: { x_cm: 0, y_cm: 8, radius_cm: 8 }, plate: { x_cm: 30, y_cm: 22, radius_cm: 22 }, pipe: { at: 'hands' }, bar: { at: 'hands' },
  tape: { from: [0, 1], to: [30, 1] }, band: { from: 'hand', to: 'ankle' }, dumbbell: { at: 'hand' }, kettlebell: { at: 'hand' },
};
const markFields: Record<string, string[]> = {
  angle: ['at', 'from_deg', 'to_deg', 'radius_cm', 'label'], turn: ['at', 'from_deg', 'to_deg', 'radius_cm', 'label'], distance: ['from', 'to', 'label'], arrow: ['from', 'to', 'label'],
  line: ['from', 'to', 'label', 'dashed'], text: ['at', 'label'], pad: ['at'],
};
const freshMarks: Record<string, object> = {
  angle: { at: 'pelvis', from_deg: 0, to_deg: 30, radius_cm: 30, label: '' }, turn: { at: 'knee', from_deg: 30, to_deg: 120, radius_cm: 20 }, distance: { from: [0, 2], to: [30, 2], label: '' },
  arrow: { from: [40, 60], to: [40, 100] }, line: { from: [0, 0], to: [0, 120], dashed: true }, text: { at: [40, 100], label: '' }, pad: { at: 'heel' },
};

export interface DrawingLook { draft: Draft; panel: number; choose: (panel: number) => void; picture: TemplateResult }

export function drawingEditor(look: DrawingLook): TemplateResult {
  const { draft: d, choose } = look;
  const panels = d.list('drawing.panels');
  const n = Math.min(look.panel, panels.length - 1);
  const path = `drawing.panels[${n}]`;
  const outer = d.section;
  d.note('drawing', outer);
  panels.forEach((_, i) => d.note(`drawing.panels[${i}]`, t('lib_panel_n', { n: i + 1 })));
  d.section = t('lib_panel_n', { n: n + 1 });
  const inside = html`<div class="drawing-panel" id=${path} tabindex="-1">${groupFault(d, path)}${panelFields(d, path)}${figureList(d, path)}${propList(d, path)}${markList(d, path)}</div>`;
  d.section = outer;
  const after = (change: () => void, to: number) => { change(); choose(to); };
  return html`<div class="drawing-editor ${panels.length > 1 ? 'many' : ''}"><div class="drawing-look">${look.picture}</div>
    <div class="stack gap-3" id="drawing" tabindex="-1">
      ${choice({ id: 'panel', label: t('lib_panels'), value: String(n), options: panels.map((_, i) => [String(i), t('lib_panel_n', { n: i + 1 })]), change: (value) => choose(Number(value)) })}
      <div class="row gap-1">${button({ label: t('lib_panel_add'), icon: icons.add, disabled: panels.length >= 6, act: () => after(() => d.add('drawing.panels', structuredClone(panels[n] ?? { props: [{ kind: 'floor' }] })), panels.length) })}
        ${button({ label: t('lib_panel_earlier'), disabled: n <= 0, act: () => after(() => d.move('drawing.panels', n, -1), n - 1) })}
        ${button({ label: t('lib_panel_remove'), disabled: panels.length < 2, act: () => after(() => d.remove('drawing.panels', n), Math.max(0, n - 1)) })}</div>${inside}</div></div>`;
}

function panelFields(d: Draft, path: string): TemplateResult {
  return html`<div class="grid gap-2">${textField(d, `${path}.caption`, t('lib_caption'), { optional: true, length: 120 })}
    ${selectField(d, `${path}.view`, t('lib_view'), ['side', 'front', 'top'].map((one) => [one, wordFor('libview', one)]), undefined, viewOf(d, path))}</div>`;
}
const viewOf = (d: Draft, path: string): View => (d.get<View>(`${path}.view`) ?? 'side');

const freshFigure = () => ({ at: { joint: 'ankle', x_cm: 0, y_cm: 8 }, facing: 'right', trunk_deg: 0 });
/** A file may say "figure" for one and "figures" for several: here it is always the list. */
export function withFigureLists(document: Draftable): Draftable {
  const drawing = document['drawing'] as { panels?: Record<string, unknown>[] } | undefined;
  for (const panel of drawing?.panels ?? []) {
    const { figure, figures = [] } = panel as { figure?: unknown; figures?: unknown[] };
    delete panel['figure'];
    panel['figures'] = figure === undefined ? figures : [figure, ...figures];
  }
  return document;
}

function figureList(d: Draft, panel: string): TemplateResult {
  const path = `${panel}.figures`;
  d.note(path, t('lib_figures'));
  const n = d.list(path).length;
  const outer = d.section;
  const figures = d.list(path).map((_, i) => {
    const [at, name] = [`${path}[${i}]`, t('lib_figure_n', { n: i + 1 })];
    d.section = `${outer}, ${name}`;
    d.note(at, name);
    return html`<li class="entry" id=${at} tabindex="-1"><div class="entry-head"><h3>${name}</h3>${button({ label: t('lib_remove', { what: name }), icon: icons.close, iconOnly: true, kind: 'bare', act: () => d.remove(path, i) })}</div>
      ${groupFault(d, at)}${figureFields(d, at, viewOf(d, panel))}</li>`;
  });
  d.section = outer;
  return html`<fieldset class="entries" id=${path} tabindex="-1"><legend>${t('lib_figures')}</legend>${groupFault(d, path)}<ul class="stack gap-3">${figures}</ul>
    ${n < 3 ? html`<div>${button({ label: t('lib_figure_add'), icon: icons.add, act: () => addAndGo(d, path, freshFigure()) })}</div>` : nothing}</fieldset>`;
}

function figureFields(d: Draft, path: string, view: View): TemplateResult {
  return html`<p class="hint quiet small">${t('lib_angles_hint')}</p>
    <div class="angles">${[...trunkAngles, ...(view === 'side' ? [] : lineAngles)].map((one) => angleSlider(d, `${path}.${one.key}_deg`, wordFor('segment', one.key), one.range, usual(d, path, one, 0)))}
      ${limbAngles.map((one) => limb(d, path, one, view))}</div>
    <div class="grid narrow gap-2">${selectField(d, `${path}.at.joint`, t('lib_stands_by'), jointOptions(view), undefined, joint(d.text(`${path}.at.joint`)))}
      ${numberField(d, `${path}.at.x_cm`, wordFor('place', 'x_cm'), { unit: 'cm' })}${numberField(d, `${path}.at.y_cm`, wordFor('place', 'y_cm'), { unit: 'cm' })}
      ${view === 'side' ? selectField(d, `${path}.facing`, t('lib_facing'), [['right', t('right')], ['left', t('left')]], undefined, d.text(`${path}.facing`) || 'right') : nothing}</div>
    ${rareFigure(d, path, view)}`;
}

/** Where an angle stands if the document says nothing: as its neighbour, at last as somebody who stands. */
function usual(d: Draft, path: string, one: AngleLook, side: number): number {
  if (!one.of) return one.usual;
  const other = [...trunkAngles, ...limbAngles].find((candidate) => candidate.key === one.of)!;
  const value = d.get(`${path}.${other.key}_deg`);
  const mine = Array.isArray(value) ? value[side] as unknown : value;
  return typeof mine === 'number' ? mine : usual(d, path, other, side);
}

function limb(d: Draft, path: string, one: AngleLook, view: View): TemplateResult {
  const at = `${path}.${one.key}_deg`;
  const value = d.get(at);
  const apart = Array.isArray(value);
  const words = wordFor('segment', one.key);
  const [first, second] = sidesIn(view);
  d.note(at, words);
  const split = (on: boolean) => { d.set(at, on ? [value ?? usual(d, path, one, 0), value ?? usual(d, path, one, 1)] : (value as unknown[])[0]); };
  return html`<div class="limb">${apart
    ? [first, second].map((side, i) => angleSlider(d, `${at}[${i}]`, `${words}, ${wordFor('libside', side)}`, one.range, usual(d, path, one, i)))
    : angleSlider(d, at, words, one.range, usual(d, path, one, 0))}
    ${check({ id: `${at}-apart`, label: html`<span class="small">${t('lib_apart', { what: words })}</span>`, checked: apart, change: split })}</div>`;
}

const seenParts = ['trunk', 'head', 'shoulders', 'hips', 'upper_arm', 'forearm', 'thigh', 'shank', 'foot'];
/** Foreshortening, and what lies behind or before the body: seldom needed. */
function rareFigure(d: Draft, path: string, view: View): TemplateResult {
  const names = (one: string) => [one, one.replace('near', 'left').replace('far', 'right')];
  const words = (one: string) => wordFor('limb', view === 'side' ? one : names(one)[1]!);
  const lies = (one: string, key: string) => d.list(`${path}.${key}`).some((each) => names(one).includes(String(each)));
  const layer = (one: string) => ['behind', 'before'].find((key) => lies(one, key)) ?? '';
  const put = (one: string, where: string) => {
    for (const key of ['behind', 'before']) {
      const rest = d.list(`${path}.${key}`).filter((each) => !names(one).includes(String(each)));
      if (where === key) rest.push(one);
      d.set(`${path}.${key}`, rest.length ? rest : undefined);
    }
  };
  const seen = (part: string) => {
    const at = `${path}.seen.${part}`;
    const value = d.get(at);
    if (!Array.isArray(value)) return numberField(d, at, wordFor('segment', part), { optional: true });
    return html`${sidesIn(view).map((side, i) => numberField(d, `${at}[${i}]`, `${wordFor('segment', part)}, ${wordFor('libside', side)}`))}`;
  };
  d.note(`${path}.seen`, t('lib_seen'));
  return html`<details class="numbers"><summary>${t('lib_rare')}</summary><div class="stack gap-3">
    <fieldset class="entries" id="${path}.seen" tabindex="-1"><legend>${t('lib_seen')}</legend><p class="hint quiet small">${t('lib_seen_hint')}</p><div class="grid narrow gap-2">${seenParts.map(seen)}</div></fieldset>
    <fieldset class="entries"><legend>${t('lib_layers')}</legend><div class="grid narrow gap-2">${['near_arm', 'far_arm', 'near_leg', 'far_leg'].map((one) => selectField(d, `${path}.layer.${one}`, words(one), [['', t('lib_layer_none')], ['behind', t('lib_layer_behind')], ['before', t('lib_layer_before')]], (value) => put(one, value), layer(one)))}</div></fieldset></div></details>`;
}

/** Near and left, far and right are the same to the drawing; here: "knee" and "far_knee". */
const joint = (name: string): string => name.replace(/^(near|left)_/, '').replace(/^right_/, 'far_');
function jointOptions(view: View, hands = false): [string, string][] {
  const words = (name: string, i: number) => `${wordFor('joint', name)}, ${wordFor('libside', sidesIn(view)[i]!)}`;
  const all = joints.flatMap((name): [string, string][] => (paired.includes(name) ? [[name, words(name, 0)], [`far_${name}`, words(name, 1)]] : [[name, wordFor('joint', name)]]));
  return hands ? [['hands', wordFor('joint', 'hands')], ...all] : all;
}

/** A place: a joint of the figure, or a point in centimetres. */
function placeField(d: Draft, path: string, label: string, view: View, hands = false): TemplateResult {
  const value = d.get(path);
  const point = Array.isArray(value);
  const change = (name: string) => { d.set(path, name === '-' ? [0, 50] : name); };
  return html`<div class="place-field">${selectField(d, path, label, [['-', t('lib_point')], ...jointOptions(view, hands)], change, point ? '-' : joint(d.text(path)))}
    ${point ? html`<div class="pair-of-numbers">${numberField(d, `${path}[0]`, wordFor('place', 'x_cm'), { unit: 'cm' })}${numberField(d, `${path}[1]`, wordFor('place', 'y_cm'), { unit: 'cm' })}</div>` : nothing}</div>`;
}

function oneField(d: Draft, at: string, key: string, view: View): TemplateResult {
  const path = `${at}.${key}`;
  const words = wordFor('place', key);
  if (key === 'at' || key === 'from' || key === 'to') return placeField(d, path, words, view);
  if (key === 'label') return textField(d, path, words, { optional: true, length: 120 });
  if (key === 'side') return selectField(d, path, words, [['right', t('right')], ['left', t('left')]]);
  if (key === 'dashed') return flag(d, path, words);
  return numberField(d, path, words, { unit: key.endsWith('_deg') ? '°' : 'cm', optional: key === 'y_cm' });
}

function parts(d: Draft, panel: string, kind: 'props' | 'marks', title: string, fresh: Record<string, object>, inside: (at: string, name: string) => TemplateResult): TemplateResult {
  const path = `${panel}.${kind}`;
  d.note(path, title);
  const add = (name: string) => addAndGo(d, path, { kind: name, ...structuredClone(fresh[name]!) });
  const select = `${path}-new`;
  const called = (name: string) => (kind === 'props' ? wordFor('prop', name) : wordFor('mark', name));
  return html`<fieldset class="entries" id=${path} tabindex="-1"><legend>${title}</legend>${groupFault(d, path)}
    <ul class="stack gap-2">${d.list(path).map((_, i) => {
      const [at, name] = [`${path}[${i}]`, d.text(`${path}[${i}].kind`)];
      const outer = d.section;
      const words = `${called(name)} ${i + 1}`;
      d.section = `${outer}, ${words}`;
      d.note(at, words);
      const made = html`<li class="entry" id=${at} tabindex="-1"><div class="entry-head"><h3>${words}</h3>${entryButtons(d, path, i, words)}</div>${groupFault(d, at)}<div class="grid narrow gap-2">${inside(at, name)}</div></li>`;
      d.section = outer;
      return made;
    })}</ul>
    <div class="add-part"><div class="field"><label for=${select}>${kind === 'props' ? t('lib_prop_new') : t('lib_mark_new')}</label><div class="well"><select id=${select}>${Object.keys(fresh).map((name) => html`<option value=${name}>${called(name)}</option>`)}</select><span class="chevron"></span></div></div>
      ${button({ label: kind === 'props' ? t('lib_prop_add') : t('lib_mark_add'), icon: icons.add, act: () => add((document.getElementById(select) as HTMLSelectElement).value) })}</div></fieldset>`;
}

function propList(d: Draft, panel: string): TemplateResult {
  const view = viewOf(d, panel);
  return parts(d, panel, 'props', t('lib_props'), freshProps, (at, name) => html`${name === 'pipe' || name === 'bar' ? poleFields(d, at, view) : name === 'dumbbell' || name === 'kettlebell' ? heldFields(d, at, view)
    : (propFields[name] ?? []).map((key) => oneField(d, at, key, view))}${name === 'floor' ? nothing : oneField(d, at, 'label', view)}`);
}
function markList(d: Draft, panel: string): TemplateResult {
  const view = viewOf(d, panel);
  return parts(d, panel, 'marks', t('lib_marks'), freshMarks, (at, name) => html`${(markFields[name] ?? []).map((key) => oneField(d, at, key, view))}`);
}

/** Only these keys of a prop stay, with what was there or these values. */
function reshape(d: Draft, at: string, values: Record<string, unknown>): void {
  const { kind, label } = d.get<{ kind: string; label?: string }>(at)!;
  d.set(at, { kind, ...values, ...(label ? { label } : {}) });
}
/** A pipe or bar: in the hands, by its middle, or from here to there. */
function poleFields(d: Draft, at: string, view: View): TemplateResult {
  const way = d.get(`${at}.from`) !== undefined || d.get(`${at}.to`) !== undefined ? 'span' : d.get(`${at}.at`) !== undefined && typeof d.get(`${at}.at`) === 'string' ? 'joint' : 'middle';
  const change = (to: string) => reshape(d, at, to === 'joint' ? { at: 'hands' } : to === 'span' ? { from: [0, 100], to: [60, 100] } : { x_cm: 0, y_cm: 100, length_cm: 120, angle_deg: 90 });
  return html`${selectField(d, `${at}.way`, t('lib_pole'), [['joint', t('lib_pole_joint')], ['middle', t('lib_pole_middle')], ['span', t('lib_pole_span')]], change, way)}
    ${way === 'joint' ? selectField(d, `${at}.at`, wordFor('place', 'at'), jointOptions(view, true), undefined, joint(d.text(`${at}.at`))) : way === 'span' ? html`${oneField(d, at, 'from', view)}${oneField(d, at, 'to', view)}`
      : ['x_cm', 'y_cm', 'length_cm', 'angle_deg'].map((key) => oneField(d, at, key, view))}`;
}
function heldFields(d: Draft, at: string, view: View): TemplateResult {
  const held = d.get(`${at}.at`) !== undefined;
  const change = (to: string) => reshape(d, at, to === 'hand' ? { at: 'hand' } : { x_cm: 0, y_cm: 20 });
  return html`${selectField(d, `${at}.way`, t('lib_held'), [['hand', t('lib_held_joint')], ['point', t('lib_point')]], change, held ? 'hand' : 'point')}
    ${held ? oneField(d, at, 'at', view) : html`${oneField(d, at, 'x_cm', view)}${oneField(d, at, 'y_cm', view)}`}`;
}
