import type { Loop } from './contour.js';

/** Coordinates are written to a tenth of a millimetre unless a drawing is small. */
const TENTHS = 10;

/** Points about `stepMm` apart along a closed loop, evenly, starting where it starts. At least four. */
export function resampleLoop(loop: Loop, stepMm: number): Loop {
  const count = loop.length / 2;
  let perimeter = 0;
  for (let i = 0; i < count; i += 1) perimeter += edgeLength(loop, i, count);
  const wanted = Math.max(4, Math.round(perimeter / stepMm));
  const out = new Float32Array(2 * wanted);
  const each = perimeter / wanted;
  let edge = 0;
  let before = 0;
  let long = edgeLength(loop, 0, count);
  for (let k = 0; k < wanted; k += 1) {
    while (before + long < k * each && edge < count - 1) {
      before += long;
      edge += 1;
      long = edgeLength(loop, edge, count);
    }
    const part = long > 0 ? Math.min(1, (k * each - before) / long) : 0;
    const to = (edge + 1) % count;
    out[2 * k] = mix(loop[2 * edge], loop[2 * to], part);
    out[2 * k + 1] = mix(loop[2 * edge + 1], loop[2 * to + 1], part);
  }
  return out;
}

/** A closed loop with every point drawn towards its neighbours (1-2-1), `passes` times: ripples go, the form stays. */
export function calmLoop(loop: Loop, passes: number): Loop {
  let from = loop;
  for (let pass = 0; pass < passes; pass += 1) {
    const to = new Float32Array(from.length);
    for (let i = 0; i < from.length; i += 1) {
      const before = from[(i + from.length - 2) % from.length]!;
      const after = from[(i + 2) % from.length]!;
      to[i] = 0.25 * before + 0.5 * from[i]! + 0.25 * after;
    }
    from = to;
  }
  return from;
}

/** SVG path data of a smooth closed line (a quadratic B-spline with the points as its control points), v upwards. */
export function smoothLoopPath(loop: Loop, perMm = TENTHS): string {
  const count = loop.length / 2;
  const middle = (i: number): [number, number] => {
    const a = i % count;
    const b = (i + 1) % count;
    return [mix(loop[2 * a], loop[2 * b], 0.5), mix(loop[2 * a + 1], loop[2 * b + 1], 0.5)];
  };
  const [u, v] = middle(count - 1);
  let path = `M${point(u, v, perMm)}`;
  for (let i = 0; i < count; i += 1) {
    const [toU, toV] = middle(i);
    path += `Q${point(loop[2 * i]!, loop[2 * i + 1]!, perMm)} ${point(toU, toV, perMm)}`;
  }
  return `${path}Z`;
}

/** SVG path data of a smooth open line through its first and last point, v upwards. */
export function smoothLinePath(points: ArrayLike<number>, perMm = TENTHS): string {
  const count = points.length / 2;
  let path = `M${point(points[0]!, points[1]!, perMm)}`;
  for (let i = 1; i < count - 1; i += 1) {
    const last = i === count - 2;
    const u = last ? points[2 * i + 2]! : mix(points[2 * i], points[2 * i + 2], 0.5);
    const v = last ? points[2 * i + 3]! : mix(points[2 * i + 1], points[2 * i + 3], 0.5);
    path += `Q${point(points[2 * i]!, points[2 * i + 1]!, perMm)} ${point(u, v, perMm)}`;
  }
  return count === 2 ? `${path}L${point(points[2]!, points[3]!, perMm)}` : path;
}

/** "12.3 -4": SVG's y runs down, so v changes sign. Rounded to 1/perMm of a millimetre, and never "-0". */
export function point(uMm: number, vMm: number, perMm = TENTHS): string {
  return `${rounded(uMm, perMm)} ${rounded(-vMm, perMm)}`;
}

function rounded(value: number, perMm: number): string {
  // As text, zero has no sign.
  return String(Math.round(value * perMm) / perMm);
}

function mix(from: number | undefined, to: number | undefined, part: number): number {
  return from! + (to! - from!) * part;
}

function edgeLength(loop: Loop, i: number, count: number): number {
  const j = (i + 1) % count;
  return Math.hypot(loop[2 * j]! - loop[2 * i]!, loop[2 * j + 1]! - loop[2 * i + 1]!);
}
