import { EngineError } from '../errors.js';
import type { Head, Point, Vec3 } from '../head/index.js';
import type { Anchor, Held, StationaryStep } from './formula.js';
import { tautString } from './taut-string.js';

const AXES: Readonly<Record<Exclude<Held, 'out'>, Point>> = {
  up: { x: 0, y: 0, z: 1 },
  forward: { x: 0, y: 1, z: 0 },
  back: { x: 0, y: -1, z: 0 },
  left: { x: -1, y: 0, z: 0 },
  right: { x: 1, y: 0, z: 0 },
};

/** The place in mm an anchor names on this head. Throws if it names none. */
export function anchorPoint(head: Head, anchor: Anchor, step: number): Point {
  if (typeof anchor !== 'string') return anchor;
  const point: Point | undefined = Object.hasOwn(head.landmarks, anchor) ? head.landmarks[anchor] : undefined;
  if (point === undefined) {
    throw new EngineError(
      'ENGINE.IMPOSSIBLE',
      'anchor',
      `${String(anchor)} is not a landmark of the head.`,
      step,
    );
  }
  return point;
}

/**
 * Writes the lengths hair of the given roots has when all of it is brought to one point (a taut string round the
 * head), to the nearest place of a line, or is held in one direction and cut square to it. Throws where the guide
 * would lie inside the head.
 */
export function cutStationary(
  head: Head,
  step: StationaryStep,
  number: number,
  roots: Iterable<number>,
  out: Float64Array,
): void {
  const anchor = anchorPoint(head, step.anchor, number);
  const held = heldDirection(head, anchor, step.held ?? 'out');
  const px = anchor.x + held.x * step.lengthMm;
  const py = anchor.y + held.y * step.lengthMm;
  const pz = anchor.z + held.z * step.lengthMm;
  const { x: a, y: b, z: c } = head.surface.radiiMm;
  const p = head.roots.position;
  refuseInside(head, px, py, pz, number);
  if (step.shape === 'plane') {
    for (const i of roots) {
      out[i] = (px - p[3 * i]!) * held.x + (py - p[3 * i + 1]!) * held.y + (pz - p[3 * i + 2]!) * held.z;
    }
    return;
  }
  for (const i of roots) {
    const x = p[3 * i]!;
    const y = p[3 * i + 1]!;
    const z = p[3 * i + 2]!;
    const gx = step.shape === 'line-side-to-side' ? x : px;
    const gy = step.shape === 'line-front-to-back' ? y : py;
    if (step.shape !== 'point') refuseInside(head, gx, gy, pz, number);
    out[i] = tautString(a, b, c, x, y, z, gx, gy, pz);
  }
}

function heldDirection(head: Head, anchor: Point, held: Held): Point {
  if (held !== 'out') return AXES[held];
  const normal: Vec3 = new Float64Array(3);
  head.surface.normal(anchor.x, anchor.y, anchor.z, normal);
  return { x: normal[0]!, y: normal[1]!, z: normal[2]! };
}

function refuseInside(head: Head, x: number, y: number, z: number, number: number): void {
  // A guide resting on the skin is allowed; landmarks are given to the millimetre, hence the margin.
  if (head.surface.clearanceMm(x, y, z) < -3 * head.scale) {
    throw new EngineError(
      'ENGINE.IMPOSSIBLE',
      'anchor',
      `The guide of step ${number} lies inside the head: hold it further out.`,
      number,
    );
  }
}
