import { requireNumber } from '../errors.js';
import { ZONES, type Zone } from '../zones.js';
import { arcToPlane } from './fall.js';
import { weightedQuantile } from './quantile.js';
import type { HairShape } from './tips.js';

export const READ_LANDMARKS = [
  'brow',
  'lid-crease',
  'upper-lid',
  'ear-canal',
  'nape-hairline',
  'collar',
] as const;
export type ReadLandmark = (typeof READ_LANDMARKS)[number];

/** How far the ends of a zone are from a landmark. */
export interface LandmarkReading {
  readonly zone: Zone;
  readonly landmark: ReadLandmark;
  /** Height of the ends above the landmark in mm; negative when they hang below it. */
  readonly aboveMm: number;
  /** Growth in mm that brings the ends to it, measured along the fall; 0 or less when they are there. */
  readonly growthMm: number;
}

/** The ends are where a tenth of the zone's hair has arrived: single hairs make no fringe too long. */
const ARRIVED = 0.1;
/** Half the width of the part of the fringe that hangs before the eyes, mm on the mean head. */
const EYES_MM = 40;
/** Half the width of the strip of the side that falls over the ear canal, mm on the mean head. */
const EAR_MM = 15;
const BACK_DEGREES = 150;
/** A shirt collar lies about this far below the nape hairline. Ours, no source: to be set by the salon. */
const COLLAR_BELOW_NAPE_MM = 40;

interface Question {
  readonly zone: Zone;
  readonly landmark: ReadLandmark;
  readonly zMm: number;
  /** Whether a strand that leaves the head at x, y (mm) is asked. */
  readonly asks: (x: number, y: number) => boolean;
}

/**
 * Reads fringe against brow, lid crease and upper lid margin, each side against its ear canal, back and nape against the
 * nape hairline and the collar. A zone without hair there gives no reading.
 *
 * @param collarBelowNapeMm 0 to 150
 */
export function landmarkReadings(
  shape: HairShape,
  collarBelowNapeMm: number = COLLAR_BELOW_NAPE_MM,
): LandmarkReading[] {
  requireNumber(collarBelowNapeMm, 'collarBelowNapeMm', 0, 150);
  return questions(shape, collarBelowNapeMm).flatMap((question) => read(shape, question) ?? []);
}

function questions({ head }: HairShape, collarBelowNapeMm: number): Question[] {
  const { landmarks, scale } = head;
  const beforeEyes = (x: number, y: number) => y > 0 && Math.abs(x) <= EYES_MM * scale;
  const overEar = (_x: number, y: number) => Math.abs(y - landmarks.tragionLeft.y) <= EAR_MM * scale;
  const behind = (x: number, y: number) => Math.abs(Math.atan2(x, y)) >= (BACK_DEGREES * Math.PI) / 180;
  const collarZ = landmarks.nape.z - collarBelowNapeMm;
  return [
    { zone: 'fringe', landmark: 'brow', zMm: landmarks.brow.z, asks: beforeEyes },
    { zone: 'fringe', landmark: 'lid-crease', zMm: landmarks.lidCrease.z, asks: beforeEyes },
    { zone: 'fringe', landmark: 'upper-lid', zMm: landmarks.upperLid.z, asks: beforeEyes },
    { zone: 'left-side', landmark: 'ear-canal', zMm: landmarks.tragionLeft.z, asks: overEar },
    { zone: 'right-side', landmark: 'ear-canal', zMm: landmarks.tragionRight.z, asks: overEar },
    { zone: 'back', landmark: 'nape-hairline', zMm: landmarks.nape.z, asks: behind },
    { zone: 'nape', landmark: 'nape-hairline', zMm: landmarks.nape.z, asks: behind },
    { zone: 'back', landmark: 'collar', zMm: collarZ, asks: behind },
    { zone: 'nape', landmark: 'collar', zMm: collarZ, asks: behind },
  ];
}

function read(shape: HairShape, { zone, landmark, zMm, asks }: Question): LandmarkReading | null {
  const { head, fall, lengthsMm, tipsMm } = shape;
  const plane = { z0Mm: zMm, forward: 0, right: 0 };
  const index = ZONES.indexOf(zone);
  const aboveMm: number[] = [];
  const growthMm: number[] = [];
  const weight: number[] = [];
  for (let root = 0; root < fall.count; root += 1) {
    // Bare skin has no ends.
    if (head.roots.zone[root] !== index || lengthsMm[root] === 0) continue;
    const leaves = 3 * (fall.start[root + 1]! - 1);
    if (!asks(fall.points[leaves]!, fall.points[leaves + 1]!)) continue;
    aboveMm.push(tipsMm[3 * root + 2]! - zMm);
    growthMm.push(arcToPlane(fall, root, plane) - lengthsMm[root]!);
    weight.push(head.roots.areaMm2[root]!);
  }
  if (weight.length === 0) return null;
  return {
    zone,
    landmark,
    aboveMm: weightedQuantile(aboveMm, weight, ARRIVED),
    growthMm: weightedQuantile(growthMm, weight, ARRIVED),
  };
}
