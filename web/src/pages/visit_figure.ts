// The athlete as a building: limbs are posts, the bar is the beam, the plumb line hangs through mid-foot.
// Draws into any SVG whose units are given by `unit` (about 1/540 of the picture's shorter side).
import { svg, nothing, type SVGTemplateResult } from 'lit';
import { along, text, type Point } from './visit_geometry.js';

export type Joint = 'toe' | 'heel' | 'ankle' | 'knee' | 'hip' | 'shoulder' | 'elbow' | 'wrist' | 'bar' | 'head' | 'mid_foot';
export type Figure = Partial<Record<Joint, Point>>;
export interface Disc { at: Point; rx: number; ry: number; turned_deg: number }

type Limb = readonly [Joint, Joint, string, number];
const limbs: readonly Limb[] = [
  ['heel', 'toe', 'foot', 6],
  ['ankle', 'knee', 'shank', 9],
  ['knee', 'hip', 'thigh', 10],
  ['shoulder', 'elbow', 'arm', 7],
  ['elbow', 'wrist', 'arm', 7],
  ['hip', 'shoulder', 'trunk', 12],
];
const noElbow: Limb = ['shoulder', 'wrist', 'arm', 7];
const noWrist: Limb = ['shoulder', 'bar', 'arm', 7];

function limbsOf(figure: Figure): readonly Limb[] {
  if (figure.elbow && figure.wrist) return limbs;
  const others = limbs.filter(([, , name]) => name !== 'arm');
  if (figure.wrist) return [...others.slice(0, 3), noWristOr(figure), ...others.slice(3)];
  return figure.bar ? [...others.slice(0, 3), noWrist, ...others.slice(3)] : others;
}

function noWristOr(figure: Figure): Limb {
  return figure.wrist ? noElbow : noWrist;
}

const known = (p: Point | undefined): p is Point => p !== undefined && Number.isFinite(p[0]) && Number.isFinite(p[1]);

function polygon(at: Point, corners: number, radius: number, turn: number): string {
  return Array.from({ length: corners }, (_, i) => text(along(at, turn + (i * 360) / corners, radius))).join(' ');
}

export interface FigureLook {
  unit: number;
  ghost?: boolean; // an outline only: how it was before
  joints?: boolean;
  headRadius?: number;
}

export function drawFigure(figure: Figure, look: FigureLook): SVGTemplateResult {
  const u = look.unit;
  const bones = limbsOf(figure).filter(([a, b]) => known(figure[a]) && known(figure[b]));
  const line = (a: Joint, b: Joint) => `M${text(figure[a]!)}L${text(figure[b]!)}`;
  const head = figure.head;
  return svg`<g class=${look.ghost ? 'body-figure ghost' : 'body-figure'}>
    ${known(head) ? svg`<polygon class="bone-edge" points=${polygon(head, 8, look.headRadius ?? 34 * u, 22.5)} stroke-width=${7 * u} fill="none"/>
      <polygon class="bone head" points=${polygon(head, 8, look.headRadius ?? 34 * u, 22.5)} stroke-width=${3.4 * u} fill="none"/>` : nothing}
    ${bones.map(([a, b, , w]) => svg`<path class="bone-edge" d=${line(a, b)} stroke-width=${(w + 4) * u}/>`)}
    ${bones.map(([a, b, name, w]) => svg`<path class="bone ${name}" d=${line(a, b)} stroke-width=${w * u}/>`)}
    ${look.joints === false || look.ghost ? nothing : drawJoints(figure, u)}
  </g>`;
}

function drawJoints(figure: Figure, u: number): SVGTemplateResult[] {
  const marks: SVGTemplateResult[] = [];
  for (const name of ['ankle', 'knee', 'hip', 'shoulder', 'elbow', 'wrist'] as const) {
    const at = figure[name];
    if (!known(at)) continue;
    const large = name === 'hip' || name === 'shoulder';
    marks.push(svg`<polygon class="body-joint" points=${polygon(at, 4, (large ? 11 : 8.5) * u, large ? 0 : 45)} stroke-width=${1.8 * u}/>`);
  }
  return marks;
}

// The bar seen from its end: ring of the disc and a beam's end in the middle.
export function drawDisc(disc: Disc, unit: number): SVGTemplateResult {
  const [x, y] = disc.at;
  return svg`<g class="bar-end">
    <ellipse class="disc-edge" cx=${x} cy=${y} rx=${disc.rx} ry=${disc.ry} transform="rotate(${disc.turned_deg} ${x} ${y})" stroke-width=${6 * unit}/>
    <ellipse class="disc" cx=${x} cy=${y} rx=${disc.rx} ry=${disc.ry} transform="rotate(${disc.turned_deg} ${x} ${y})" stroke-width=${3 * unit}/>
    <rect class="beam-end" x=${x - 19 * unit} y=${y - 5 * unit} width=${38 * unit} height=${10 * unit} stroke-width=${1.6 * unit}/>
  </g>`;
}

// From above down to mid-foot, with the bob.
export function drawPlumbLine(foot: Point, length: number, roll: number, unit: number): SVGTemplateResult {
  const top = along(foot, roll, length);
  const bob = 11 * unit;
  const [x, y] = foot;
  return svg`<g class="body-plumb">
    <path class="plumb-edge" d="M${text(top)}L${text(foot)}" stroke-width=${5 * unit}/>
    <path class="plumb-line" d="M${text(top)}L${text(foot)}" stroke-width=${2.2 * unit}/>
    <path class="body-bob" transform="rotate(${roll} ${x} ${y})" stroke-width=${1.6 * unit}
      d="M${x} ${y + 1.7 * bob}L${x - 0.75 * bob} ${y + 0.3 * bob}L${x - 0.5 * bob} ${y - 0.5 * bob}L${x + 0.5 * bob} ${y - 0.5 * bob}L${x + 0.75 * bob} ${y + 0.3 * bob}Z"/>
  </g>`;
}
