// One measured clip as the player needs it: curves, figures and landmarks by frame, and what a person moved.
import type { Disc, Figure, Joint } from './visit_figure.js';
import { degrees, inclination, midway, type Point } from './visit_geometry.js';
import type { Assessment, Curves, Repetition } from './visit_types.js';
import type { Corrections, MovedPoint } from './visit_base.js';

export interface CurvesFile extends Curves {
  figures?: { points: string[]; px: (number | null)[][] };
}
export interface PointsFile {
  width_px: number;
  height_px: number;
  people?: number;
  chosen_person?: number;
  landmarks: string[];
  columns: string[];
  frames: { frame: number; time_s: number; body?: (number | null)[][];
    disc?: { center_x_px: number; center_y_px: number; semi_major_px: number; semi_minor_px: number; major_axis_angle_rad: number } }[];
}

/** Points that a person may move, near side: they are what the fit sees. */
export const movable = ['shoulder', 'elbow', 'wrist', 'hip', 'knee', 'ankle', 'heel', 'toe'] as const;
export type Movable = (typeof movable)[number];

export class Clip {
  constructor(readonly assessment: Assessment, readonly curves: CurvesFile, public points: PointsFile | undefined) {}

  get times(): number[] { return this.curves.time_s; }
  get frames(): number[] { return this.curves.frame; }
  get width(): number { return this.points?.width_px ?? this.assessment.clip.width_px; }
  get height(): number { return this.points?.height_px ?? this.assessment.clip.height_px; }
  get facing(): number { return this.assessment.camera.facing === 'left' ? -1 : 1; }
  get roll(): number { return this.assessment.camera.roll_deg?.value ?? 0; }
  get near(): string { return this.assessment.camera.near_side || 'right'; }
  get repetitions(): Repetition[] { return this.assessment.repetitions; }

  /** Fitted body of a frame; what a person has just moved goes where it was put. */
  figure(index: number, moved: Map<string, Point> = new Map()): Figure {
    const figure: Figure = {};
    const fitted = this.curves.figures;
    const px = fitted?.px[index];
    if (fitted && px) {
      fitted.points.forEach((name, i) => {
        const [x, y] = [px[2 * i], px[2 * i + 1]];
        if (x !== null && x !== undefined && y !== null && y !== undefined) figure[name as Joint] = [x, y];
      });
    } else {
      for (const name of movable) {
        const seen = this.landmark(index, `${this.near}_${name}`);
        if (seen) figure[name] = seen;
      }
      if (figure.heel && figure.toe) figure.mid_foot = midway(figure.heel, figure.toe);
    }
    for (const name of movable) {
      const to = moved.get(pointKey(this.frames[index] ?? 0, `${this.near}_${name}`));
      if (to) figure[name] = to;
    }
    return figure;
  }

  /** Where the network (or a person) has a landmark in a frame. */
  landmark(index: number, name: string): Point | undefined {
    const frame = this.pointFrame(index);
    const at = this.points?.landmarks.indexOf(name) ?? -1;
    const values = at >= 0 ? frame?.body?.[at] : undefined;
    const [x, y] = [values?.[0], values?.[1]];
    return typeof x === 'number' && typeof y === 'number' ? [x, y] : undefined;
  }

  confidence(index: number, name: string): number | undefined {
    const at = this.points?.landmarks.indexOf(name) ?? -1;
    return (at >= 0 ? this.pointFrame(index)?.body?.[at]?.[2] : undefined) ?? undefined;
  }

  disc(index: number): Disc | null {
    const disc = this.pointFrame(index)?.disc;
    if (!disc) return null;
    return { at: [disc.center_x_px, disc.center_y_px], rx: disc.semi_major_px, ry: disc.semi_minor_px,
      turned_deg: degrees(disc.major_axis_angle_rad) };
  }

  private pointFrame(index: number) {
    const frame = this.frames[index] ?? index;
    const list = this.points?.frames;
    return list?.[frame]?.frame === frame ? list[frame] : list?.find((one) => one.frame === frame);
  }

  value(channel: string, index: number): { value: number; error: number | null } | null {
    const curve = this.curves.channels[channel];
    const value = curve?.fitted[index] ?? curve?.raw[index];
    return value === null || value === undefined ? null : { value, error: curve?.error[index] ?? null };
  }

  /** Where this frame is: number of the repetition and its moment, or undefined between two. */
  phase(index: number): { number: number; moment: 'start' | 'down' | 'bottom' | 'up' | 'end' } | undefined {
    const frame = this.frames[index] ?? 0;
    for (const repetition of this.repetitions) {
      if (frame < repetition.start.frame || frame > repetition.end.frame) continue;
      const moment = frame === repetition.start.frame ? 'start' : frame === repetition.bottom.frame ? 'bottom'
        : frame === repetition.end.frame ? 'end' : frame < repetition.bottom.frame ? 'down' : 'up';
      return { number: repetition.number, moment };
    }
    return undefined;
  }
}

export const pointKey = (frame: number, landmark: string): string => `${frame}:${landmark}`;

/** Angles straight from the points of one picture: what the eye sees until the fit has been made again. */
export function anglesByHand(figure: Figure, facing: number, roll: number): Record<string, number> {
  const angles: Record<string, number> = {};
  const { hip, shoulder, ankle, knee } = figure;
  const hand = figure.bar ?? figure.wrist;
  if (hip && shoulder) angles['trunk_inclination'] = inclination(hip, shoulder, facing, roll);
  if (ankle && knee) angles['shank_inclination'] = inclination(ankle, knee, facing, roll);
  if (knee && hip) angles['thigh_inclination'] = -inclination(knee, hip, facing, roll);
  if (angles['thigh_inclination'] !== undefined && angles['shank_inclination'] !== undefined) {
    angles['knee_flexion'] = angles['thigh_inclination'] + angles['shank_inclination'];
  }
  if (angles['trunk_inclination'] !== undefined && angles['thigh_inclination'] !== undefined) {
    angles['hip_flexion'] = angles['trunk_inclination'] + angles['thigh_inclination'];
  }
  if (shoulder && hand && angles['trunk_inclination'] !== undefined) {
    angles['shoulder_elevation'] = 180 + angles['trunk_inclination'] - inclination(shoulder, hand, facing, roll);
  }
  return angles;
}

/** The corrections of a record as a map, and back. */
export function movedOf(corrections: Corrections | null | undefined): Map<string, Point> {
  return new Map((corrections?.points ?? []).map((p) => [pointKey(p.frame, p.landmark), [p.x_px, p.y_px] as Point]));
}
export function pointsOf(moved: Map<string, Point>): MovedPoint[] {
  return [...moved].map(([key, [x, y]]) => {
    const split = key.indexOf(':');
    return { frame: Number(key.slice(0, split)), landmark: key.slice(split + 1), x_px: Math.round(x * 10) / 10, y_px: Math.round(y * 10) / 10 };
  });
}

