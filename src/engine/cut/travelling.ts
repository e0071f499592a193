import { ZONES, type Zone } from '../zones.js';
import { FINGER_WIDTH_MM, type OverDirection, type TravellingStep } from './formula.js';
import { BORDER_MM } from './neighbours.js';
import type { Scalp } from './scalp.js';

const DEGREE = Math.PI / 180;

/** Angle of the progression from straight up, by section: horizontal sections travel up, vertical ones sideways. */
const PROGRESSION: Readonly<Record<TravellingStep['section'], number>> = {
  horizontal: 0,
  'diagonal-forward': 45 * DEGREE,
  'diagonal-back': 45 * DEGREE,
  vertical: 90 * DEGREE,
  radial: 90 * DEGREE,
};

const LEVEL: readonly Zone[] = ['left-side', 'back', 'right-side'];

/** True where a guide zone lies beside the zones cut by it rather than above or below: the sides and the back. */
export function areLevel(guide: Zone, zones: readonly Zone[]): boolean {
  return LEVEL.includes(guide) && zones.some((zone) => LEVEL.includes(zone));
}

/**
 * Lengths a travelling guide gives, written to `out` for every root of the step's zones. From the guide each root
 * is integrated along its own fall line:
 *
 *   dL = [u cos e' + cos psi D / w + sin e' tan phi] ds,   u = 1 - (1 - cos psi) min(1, e / 45)
 *
 * with elevation e, finger angle phi, D mm more a section of depth w, the progression psi off the vertical, and
 * e' = e + dip (1 - e / 90) where the surface dips below the equator (e' = e from 90 degrees up). Sideways, diagonal
 * sections gain sin psi (cos e + D / w) and vertical ones sin psi D / w per mm from the back (or, diagonal back, from
 * the face). Hair of a vertical section is not combed back on the one before it unless it is over-directed, hence no
 * cos e there. From 45 degrees up u is cos psi; below, sections matter less and less, and at 0 (natural fall) not at
 * all: the ends lie in one line however the hair was parted.
 *
 * `zoneGuideMm` is the guide's length if it is taken from a zone. Roots whose line leads into that zone go by its last
 * row instead; roots whose line leads into a third zone go by its closest hair, fading into the last row's mean.
 */
export function cutTravelling(
  scalp: Scalp,
  step: TravellingStep,
  zoneGuideMm: number,
  lengthMm: Float64Array,
  out: Float64Array,
): void {
  const above = step.startAt === 'above';
  const runs = above ? scalp.up : scalp.down;
  const e = step.elevationDegrees * DEGREE;
  const levelling = Math.max(0, 1 - step.elevationDegrees / 90);
  const psi = PROGRESSION[step.section];
  const across = 1 - Math.cos(psi);
  const up = 1 - across * Math.min(1, step.elevationDegrees / 45);
  const tan = Math.tan((step.fingerAngleDegrees ?? 0) * DEGREE);
  const growing = (step.stepPerSectionMm ?? 0) / (step.sectionDepthMm ?? FINGER_WIDTH_MM);
  const diagonal = step.section === 'diagonal-forward' || step.section === 'diagonal-back';
  const sideways = Math.sin(psi) * ((diagonal ? Math.cos(e) : 0) + growing);
  // Towards the guide's other side the same slopes count downwards, but a step per section always adds.
  const direction = above ? -1 : 1;
  const onRise = (dip: number): number => {
    const held = e + dip * levelling;
    return direction * (up * Math.cos(held) + tan * Math.sin(held)) + (1 - across) * growing;
  };
  const straightRise = onRise(0);

  const own = step.guide.kind === 'length';
  const guideZone = step.guide.kind === 'zone' ? ZONES.indexOf(step.guide.zone) : -1;
  const inStep = new Uint8Array(ZONES.length);
  for (const zone of step.zones) inStep[ZONES.indexOf(zone)] = 1;
  // Where zones lie level, a line that strays from one into the other goes on to the guide below.
  const passes = inStep.slice();
  if (step.zones.some((zone) => LEVEL.includes(zone))) {
    for (const zone of LEVEL) passes[ZONES.indexOf(zone)] = 1;
  }
  const from = sideways === 0 ? 0 : sideStart(scalp, step, inStep);
  const strays: number[] = [];
  let borders = 0;
  let bordersMm = 0;

  for (const zone of new Set(step.zones)) {
    for (const i of scalp.neighbours.ofZone[ZONES.indexOf(zone)]!) {
      const first = runs.start[i]!;
      const end = runs.start[i + 1]!;
      let gain = 0;
      let run = first;
      for (; run < end && passes[runs.zone[run]!] === 1; run++) {
        gain += straightRise * runs.straightMm[run]!;
        if (runs.dipped[run] === 1) {
          const at = 8 * run;
          for (let k = 0; k < 4; k++) gain += runs.dips[at + 4 + k]! * onRise(runs.dips[at + k]!);
        }
      }
      const last = run - 1;
      let guide = own ? (step.guide as { lengthMm: number }).lengthMm : zoneGuideMm;
      let scalar = true;
      if (!own && run < end) {
        if (runs.zone[run] === guideZone && runs.nearest[3 * last]! >= 0) {
          guide = 0;
          for (let k = 0; k < 3; k++) {
            guide += runs.share[3 * last + k]! * lengthMm[runs.nearest[3 * last + k]!]!;
          }
          gain += onRise(runs.exitDip[last]!) * runs.onwardMm[last]!;
          scalar = false;
          borders++;
          bordersMm += guide;
        } else strays.push(i);
      }
      if (scalar && sideways !== 0) gain += sideways * Math.abs(runs.exitSideMm[last]! - from);
      out[i] = guide + gain;
    }
  }
  if (borders > 0) {
    const { nearest, distanceMm } = scalp.neighbours;
    const mean = bordersMm / borders;
    for (const i of strays) {
      const at = i * ZONES.length + guideZone;
      // Infinitely far off where there is none near.
      const close = 1 - distanceMm[at]! / (BORDER_MM * scalp.head.scale);
      const guide = close > 0 ? mean + close * (lengthMm[nearest[at]!]! - mean) : mean;
      out[i] = out[i]! + guide - zoneGuideMm;
    }
  }
  if (step.overDirection !== undefined && step.overDirection.sections > 0) {
    overDirect(scalp, step, step.overDirection, inStep, out);
  }
}

/** Where sideways progress starts: at the region's edge towards the back, or towards the face for diagonal back. */
function sideStart(scalp: Scalp, step: TravellingStep, inStep: Uint8Array): number {
  const side = scalp.neighbours.sideMm;
  let least = Number.POSITIVE_INFINITY;
  let most = 0;
  for (let zone = 0; zone < ZONES.length; zone++) {
    if (inStep[zone] === 0) continue;
    for (const i of scalp.neighbours.ofZone[zone]!) {
      if (side[i]! < least) least = side[i]!;
      if (side[i]! > most) most = side[i]!;
    }
  }
  return step.section === 'diagonal-back' ? most : least;
}

/**
 * Every section is pulled k sections back to where its guide stands and cut level with it: on a head of radius R
 * that leaves k w^2 (R + L) / (2 R L) more with every section of depth w, or dL / ds = k w (R + L) / (2 R L), whose
 * integral is L - R ln(R + L) = k w s / (2 R) + constant. R is that of the ball as large as the cranium.
 */
function overDirect(
  scalp: Scalp,
  step: TravellingStep,
  over: OverDirection,
  inStep: Uint8Array,
  out: Float64Array,
): void {
  const { x: a, y: b, z: c } = scalp.head.surface.radiiMm;
  const R = Math.cbrt(a * b * c);
  const pull = (over.sections * (step.sectionDepthMm ?? FINGER_WIDTH_MM)) / (2 * R);
  const p = scalp.head.roots.position;
  const place = (i: number): number => {
    switch (over.towards) {
      case 'back':
        return scalp.neighbours.sideMm[i]!;
      case 'face':
        return -scalp.neighbours.sideMm[i]!;
      case 'up':
        return alongMm(scalp.up, i, inStep);
      case 'down':
        return alongMm(scalp.down, i, inStep);
      case 'left':
        return a * Math.asin(Math.max(-1, Math.min(1, p[3 * i]! / a)));
      case 'right':
        return -a * Math.asin(Math.max(-1, Math.min(1, p[3 * i]! / a)));
    }
  };
  let least = Number.POSITIVE_INFINITY;
  const region = [...new Set(step.zones)].map((zone) => scalp.neighbours.ofZone[ZONES.indexOf(zone)]!);
  for (const roots of region) for (const i of roots) least = Math.min(least, place(i));
  for (const roots of region) {
    for (const i of roots) out[i] = overDirectedMm(Math.max(0, out[i]!), pull * (place(i) - least), R);
  }
}

/** Solves L - R ln(R + L) = L0 - R ln(R + L0) + pulled for L >= L0 by Newton's method from above. */
export function overDirectedMm(startMm: number, pulledMm: number, R: number): number {
  if (pulledMm <= 0) return startMm;
  const target = startMm - R * Math.log(R + startMm) + pulledMm;
  // L - R ln(R + L) is convex: from a start above the root Newton comes down on it without overshooting.
  let length = startMm + pulledMm + 1;
  while (length - R * Math.log(R + length) < target) length += R;
  for (let k = 0; k < 60; k++) {
    const step = ((length - R * Math.log(R + length) - target) * (R + length)) / length;
    length -= step;
    if (!(step > 1e-9)) break;
  }
  return Math.max(startMm, length);
}

function alongMm(runs: Scalp['down'], root: number, inStep: Uint8Array): number {
  let mm = 0;
  for (let run = runs.start[root]!; run < runs.start[root + 1]!; run++) {
    if (inStep[runs.zone[run]!] === 0) break;
    mm += runs.arcMm[run]!;
  }
  return mm;
}
