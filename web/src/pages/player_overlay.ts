// What is drawn over one picture of the clip: body, bar, plumb line, angles with their errors.
import { svg, nothing, type SVGTemplateResult } from 'lit';
import { along, arcPath, clamp, distance, inclination, text, wrapped, type Point } from './visit_geometry.js';
import { drawDisc, drawFigure, drawPlumbLine, type Disc, type Figure } from './visit_figure.js';

export interface AngleShown { value: number; error: number | null; byHand: boolean }
export type AngleName = 'trunk' | 'shank' | 'knee' | 'shoulder';
export interface OverlayData {
  width: number;
  height: number;
  figure: Figure;
  disc: Disc | null;
  facing: number; // 1 right, -1 left
  roll: number; // [deg] clockwise
  angles: Partial<Record<AngleName, AngleShown>>;
  label: (name: AngleName, angle: AngleShown) => string;
  labels: boolean;
}

interface Mark {
  name: AngleName;
  at: Point;
  from: number; // [deg] clockwise from the picture's up
  sweep: number;
  radius: number;
  angle: AngleShown;
  side: number; // -1 = words to the left
}

/** How thick a line is in this picture. */
export function unitOf(width: number, height: number): number {
  return clamp(Math.min(width, height) / 540, 0.4, 6);
}

export function drawOverlay(data: OverlayData): SVGTemplateResult {
  const unit = unitOf(data.width, data.height);
  const foot = data.figure.mid_foot;
  const marks = angleMarks(data);
  return svg`
    ${marks.map((mark) => drawArc(mark, unit))}
    ${data.disc ? drawDisc(data.disc, unit) : nothing}
    ${drawFigure(data.figure, { unit, headRadius: headRadius(data.figure) })}
    ${foot ? drawPlumbLine(foot, foot[1] / Math.max(Math.cos((data.roll * Math.PI) / 180), 0.5), data.roll, unit) : nothing}
    ${data.labels ? drawLabels(marks, data, unit) : nothing}`;
}

function headRadius(figure: Figure): number | undefined {
  const { hip, shoulder } = figure;
  return hip && shoulder ? 0.15 * distance(hip, shoulder) : undefined;
}

const direction = (from: Point, to: Point) => inclination(from, to);

function angleMarks(data: OverlayData): Mark[] {
  const { figure, angles, facing, roll } = data;
  const { hip, knee, ankle, shoulder } = figure;
  const hand = figure.bar ?? figure.wrist;
  const marks: Mark[] = [];
  const add = (name: AngleName, at: Point, from: number, to: number, radius: number, side: number) => {
    const angle = angles[name];
    if (angle && Number.isFinite(angle.value)) marks.push({ name, at, from, sweep: wrapped(to - from), radius, angle, side });
  };
  if (hip && shoulder) add('trunk', hip, roll, direction(hip, shoulder), 0.42 * distance(hip, shoulder), -facing);
  if (ankle && knee) add('shank', ankle, roll, direction(ankle, knee), 0.55 * distance(ankle, knee), -facing);
  if (knee && hip && ankle) add('knee', knee, direction(ankle, knee), direction(knee, hip), 0.3 * distance(knee, hip), facing);
  if (shoulder && hip && hand) {
    add('shoulder', shoulder, direction(shoulder, hip), direction(shoulder, hand), 0.22 * distance(hip, shoulder), facing);
    const last = marks.at(-1);
    // The arm is raised through the front, so its arc goes there even beyond half a turn.
    if (last?.name === 'shoulder' && last.sweep * facing > 0) last.sweep -= 360 * facing;
  }
  return marks;
}

function drawArc(mark: Mark, unit: number): SVGTemplateResult {
  const arc = arcPath(mark.at, mark.from, mark.from + mark.sweep, mark.radius);
  const base = `M${text(mark.at)}L${text(along(mark.at, mark.from, mark.radius * 1.12))}`;
  return svg`<g class="angle-mark ${mark.name}">
    <path class="angle-edge" d=${arc} stroke-width=${5 * unit}/>
    <path class="angle-line" d=${arc} stroke-width=${2.6 * unit}/>
    <path class="angle-edge" d=${base} stroke-width=${3.4 * unit}/>
    <path class="angle-line" d=${base} stroke-width=${1.5 * unit} stroke-dasharray="${5 * unit} ${4 * unit}"/>
  </g>`;
}

function drawLabels(marks: Mark[], data: OverlayData, unit: number): SVGTemplateResult[] {
  const size = 25 * unit; // the picture is shown at about half its size
  const taken: { x: number; y: number; w: number; h: number }[] = [];
  return marks.map((mark) => {
    const words = data.label(mark.name, mark.angle);
    const w = words.length * size * 0.52 + 18 * unit;
    const h = size * 1.55;
    const gap = 26 * unit + (mark.name === 'trunk' || mark.name === 'shank' ? 10 * unit : mark.radius * 0.3);
    let x = clamp(mark.side < 0 ? mark.at[0] - gap - w : mark.at[0] + gap, 4 * unit, data.width - w - 4 * unit);
    let y = clamp(mark.at[1] - h / 2, 4 * unit, data.height - h - 4 * unit);
    for (const other of taken) {
      const over = x < other.x + other.w && other.x < x + w && y < other.y + other.h && other.y < y + h;
      if (over) y = y >= other.y ? other.y + other.h + 4 * unit : other.y - h - 4 * unit;
    }
    taken.push({ x, y, w, h });
    return svg`<g class="angle-label ${mark.name} ${mark.angle.byHand ? 'by-hand' : ''}">
      <rect class="label-back" x=${x} y=${y} width=${w} height=${h} rx=${4 * unit}/>
      <rect class="label-post" x=${x} y=${y} width=${6 * unit} height=${h}/>
      <text x=${x + 13 * unit} y=${y + h * 0.68} font-size=${size}>${words}</text>
    </g>`;
  });
}
