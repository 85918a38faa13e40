// Figures as the posture model gives them: metres, facing right, from the middle of the foot on the floor.
import type { Figure } from './visit_figure.js';
import type { Point } from './visit_geometry.js';

export interface ModelFigure {
  trunk_deg: number;
  shank_deg?: number;
  depth_cm?: number;
  shoulder_elevation_deg?: number;
  segments: { name: string; points: [number, number][] }[];
  joints: Record<string, [number, number]>;
  disc_radius_m?: number;
  plumb_x_m?: number;
  base_m?: [number, number] | number[];
}

export function figureOf(model: ModelFigure): Figure {
  const figure: Figure = {};
  for (const name of ['toe', 'heel', 'ankle', 'knee', 'hip', 'shoulder', 'elbow', 'wrist', 'bar', 'head'] as const) {
    const at = model.joints[name];
    if (at) figure[name] = at as Point;
  }
  const [from, to] = model.base_m ?? [];
  figure.mid_foot = from !== undefined && to !== undefined ? [(from + to) / 2, 0] : [0, 0];
  return figure;
}
