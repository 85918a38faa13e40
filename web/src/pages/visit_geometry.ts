// Plane geometry of pictures and figures. Angles in degrees, as on the pages.

export type Point = readonly [number, number];

export const degrees = (radians: number): number => (radians * 180) / Math.PI;
export const radians = (angle: number): number => (angle * Math.PI) / 180;

export function distance(a: Point, b: Point): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

export function midway(a: Point, b: Point): Point {
  return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
}

// Inclination of the line `from` to `to` against the vertical, forward positive, in a picture (y down)
// whose true vertical is turned clockwise by `roll`. Facing: 1 = the athlete looks to the right.
export function inclination(from: Point, to: Point, facing = 1, roll = 0): number {
  const turned = degrees(Math.atan2(to[0] - from[0], from[1] - to[1])) - roll;
  return facing * wrapped(turned);
}

// Into (-180, 180].
export function wrapped(angle: number): number {
  const turned = ((angle % 360) + 360) % 360;
  return turned > 180 ? turned - 360 : turned;
}

// The point at `length` from `at` in direction `angle` from vertical up, clockwise, in a picture.
export function along(at: Point, angle: number, length: number): Point {
  return [at[0] + length * Math.sin(radians(angle)), at[1] - length * Math.cos(radians(angle))];
}

// A pie slice around `at` between two directions from vertical up, between two radii.
export function slicePath(at: Point, from: number, to: number, inner: number, outer: number): string {
  const large = Math.abs(to - from) > 180 ? 1 : 0;
  const sweep = to > from ? 1 : 0;
  const a = along(at, from, outer);
  const b = along(at, to, outer);
  if (inner <= 0) return `M${text(at)}L${text(a)}A${outer} ${outer} 0 ${large} ${sweep} ${text(b)}Z`;
  const c = along(at, to, inner);
  const d = along(at, from, inner);
  return `M${text(a)}A${outer} ${outer} 0 ${large} ${sweep} ${text(b)}L${text(c)}` +
    `A${inner} ${inner} 0 ${large} ${1 - sweep} ${text(d)}Z`;
}

export function arcPath(at: Point, from: number, to: number, radius: number): string {
  const sweep = to > from ? 1 : 0;
  const large = Math.abs(to - from) > 180 ? 1 : 0;
  return `M${text(along(at, from, radius))}A${radius} ${radius} 0 ${large} ${sweep} ${text(along(at, to, radius))}`;
}

export function text(p: Point): string {
  return `${round(p[0])} ${round(p[1])}`;
}

export function round(value: number, digits = 2): number {
  const scale = 10 ** digits;
  return Math.round(value * scale) / scale;
}

export function clamp(value: number, low: number, high: number): number {
  return Math.min(Math.max(value, low), high);
}

// Labels along one line: each wants a place, none closer than `apart` to the next, inside of
// [low, high] as far as they fit. Keeps the order of the wishes.
export function spread(wishes: number[], apart: number, low: number, high: number): number[] {
  const order = wishes.map((_, i) => i).sort((a, b) => wishes[a]! - wishes[b]!);
  const places = order.map((i) => wishes[i]!);
  for (let pass = 0; pass < 60; pass++) {
    for (let i = 1; i < places.length; i++) {
      const lack = apart - (places[i]! - places[i - 1]!);
      if (lack > 0) {
        places[i - 1]! -= lack / 2;
        places[i]! += lack / 2;
      }
    }
    if (places.length > 0) {
      if (places[0]! < low) places[0] = low;
      const last = places.length - 1;
      if (places[last]! > high) places[last] = high;
    }
  }
  const result = new Array<number>(wishes.length);
  order.forEach((index, i) => { result[index] = places[i]!; });
  return result;
}
