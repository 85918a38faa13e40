// The decomposition as a picture: the athlete's own figure leans, and the lean is a fan of parts.
import { svg, nothing, type SVGTemplateResult } from 'lit';
import { along, arcPath, distance, inclination, round, slicePath, spread, text, type Point } from './visit_geometry.js';
import { drawDisc, drawFigure, drawPlumbLine, type Figure, type Joint } from './visit_figure.js';
import { patternDefinitions, patternFill } from './visit_patterns.js';
import type { Slice } from './why_parts.js';

export const whySize = { width: 430, height: 640 };
const floor = 600;
const scope = 'lean-part';

export interface WhyPicture {
  body: Figure; // metres, x forward, y up, mid-foot at 0
  discRadius: number; // metres, 0 = none
  observed: number; // [deg]
  reference: number;
  upright: number | null;
  slices: Slice[];
  chosen: string; // factor, or empty
  numberOf: (factor: string) => number;
  nameOf: (slice: Slice) => string;
  choose: (factor: string) => void;
  words: { observed: string; reference: string; upright: string };
}

/** Metres to the picture, so that the body stands on the floor and fills the height. */
export function placeBody(body: Figure, top: number, width: number, floorAt: number): Figure {
  const points = Object.values(body);
  const highest = Math.max(...points.map((p) => p[1]), 0.5);
  const left = Math.min(...points.map((p) => p[0]));
  const right = Math.max(...points.map((p) => p[0]));
  const scale = Math.min((floorAt - top) / highest, (width * 0.86) / (right - left));
  const middle = (left + right) / 2;
  const placed: Figure = {};
  for (const [name, p] of Object.entries(body)) {
    placed[name as Joint] = [width / 2 + (p[0] - middle) * scale, floorAt - p[1] * scale] as Point;
  }
  return placed;
}

export function scaleOf(body: Figure, placed: Figure): number {
  const { hip, shoulder } = body;
  return hip && shoulder && placed.hip && placed.shoulder ? distance(placed.hip, placed.shoulder) / distance(hip, shoulder) : 300;
}

export function drawWhy(data: WhyPicture): SVGTemplateResult {
  const placed = placeBody(data.body, 60 + data.discRadius * 300, whySize.width, floor);
  const hip = placed.hip ?? [240, 400];
  const shoulder = placed.shoulder ?? [330, 260];
  const length = distance(hip, shoulder);
  const shift = data.observed - inclination(hip, shoulder); // the figure leans by exactly what was measured
  const turned: Figure = Math.abs(shift) < 6 ? leanBy(placed, shift) : placed;
  const radius = length * 1.55; // beyond the shoulder, so that small parts can be told apart
  return svg`
    ${patternDefinitions(scope, 0.9)}
    <path class="floor" d="M24 ${floor + 4}H${whySize.width - 24}"/>
    ${data.discRadius > 0 && turned.bar ? svg`<g class="faint">${drawDisc({ at: turned.bar, rx: data.discRadius * scaleOf(data.body, placed), ry: data.discRadius * scaleOf(data.body, placed), turned_deg: 0 }, 1)}</g>` : nothing}
    <g class="faint">${drawFigure(turned, { unit: 1, joints: false, headRadius: length * 0.17 })}</g>
    ${turned.mid_foot ? svg`<g class="faint">${drawPlumbLine(turned.mid_foot, turned.mid_foot[1] - 30, 0, 1)}</g>` : nothing}
    <path class="upright-line" d="M${text(hip)}V${round(hip[1] - radius * 1.12)}"/>
    ${data.slices.map((slice) => drawSlice(slice, hip, radius, data))}
    ${drawReference(hip, radius, data)}
    ${drawChosen(hip, length, data)}
    ${drawTrunk(hip, along(hip, data.observed, length), along(hip, data.observed, radius))}
    ${drawTags(hip, radius, data)}`;
}

/** Turns everything above the hips about them. */
function leanBy(figure: Figure, angle: number): Figure {
  const hip = figure.hip!;
  const result: Figure = { ...figure };
  const old = figure.shoulder!;
  const next = along(hip, inclination(hip, old) + angle, distance(hip, old));
  for (const name of ['shoulder', 'elbow', 'wrist', 'bar', 'head'] as const) {
    const p = figure[name];
    if (p) result[name] = [p[0] + next[0] - old[0], p[1] + next[1] - old[1]];
  }
  return result;
}

function drawSlice(slice: Slice, hip: Point, radius: number, data: WhyPicture): SVGTemplateResult {
  const chosen = data.chosen === slice.part.factor;
  const reach = chosen ? radius * 1.06 : radius;
  return svg`<path class=${chosen ? 'lean-slice chosen' : 'lean-slice'} d=${slicePath(hip, slice.to, slice.from, 14, reach)}
    fill=${patternFill(scope, slice.part.pattern)} @click=${() => data.choose(slice.part.factor)}>
    <title>${data.nameOf(slice)}</title></path>`;
}

function drawTrunk(hip: Point, shoulder: Point, end: Point): SVGTemplateResult {
  return svg`<g class="body-figure">
    <path class="trunk-on" d="M${text(shoulder)}L${text(end)}"/>
    <path class="bone-edge" d="M${text(hip)}L${text(shoulder)}" stroke-width="19"/>
    <path class="bone ink" d="M${text(hip)}L${text(shoulder)}" stroke-width="13"/>
    <polygon class="body-joint" stroke-width="2" points=${diamond(hip, 13)}/>
    <polygon class="body-joint" stroke-width="2" points=${diamond(shoulder, 13)}/></g>`;
}

function diamond(at: Point, r: number): string {
  return [0, 90, 180, 270].map((angle) => text(along(at, angle, r))).join(' ');
}

function drawReference(hip: Point, radius: number, data: WhyPicture): SVGTemplateResult {
  const end = along(hip, data.reference, radius * 1.2);
  return svg`<path class="reference-line" d="M${text(hip)}L${text(end)}"/>
    <text class="picture-words" text-anchor="end" x=${round(end[0] - 4)} y=${round(end[1] - 8)}>${data.words.reference}</text>`;
}

// Where the trunk would be without the chosen part.
function drawChosen(hip: Point, length: number, data: WhyPicture): SVGTemplateResult | typeof nothing {
  const slice = data.slices.find((one) => one.part.factor === data.chosen);
  if (!slice) return nothing;
  const angle = data.observed - slice.part.share;
  const end = along(hip, angle, length);
  return svg`<path class="ghost-edge" d="M${text(hip)}L${text(end)}"/><path class="ghost-trunk" d="M${text(hip)}L${text(end)}"/>
    <path class="ghost-arc" d=${arcPath(hip, data.observed, angle, length * 1.13)}/>`;
}

function drawTags(hip: Point, radius: number, data: WhyPicture): SVGTemplateResult[] {
  const middles = data.slices.map((slice) => (slice.from + slice.to) / 2);
  const reach = radius * 1.06;
  const apart = (24 / reach) * (180 / Math.PI) * 1.05;
  const angles = spread(middles, apart, data.reference - 30, data.observed + 12);
  return data.slices.map((slice, i) => {
    const at = along(hip, angles[i]!, reach + 8);
    const edge = along(hip, middles[i]!, radius);
    const chosen = data.chosen === slice.part.factor;
    return svg`<g class=${chosen ? 'lean-tag chosen' : 'lean-tag'} @click=${() => data.choose(slice.part.factor)}>
      <path class="leader" d="M${text(edge)}L${text(at)}"/>
      <rect x=${round(at[0] - 12)} y=${round(at[1] - 12)} width="24" height="24" rx="3"/>
      <text x=${round(at[0])} y=${round(at[1] + 6)} text-anchor="middle">${data.numberOf(slice.part.factor)}</text></g>`;
  });
}
