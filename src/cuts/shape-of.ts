import { LRUCache } from 'lru-cache';
import type { Client } from '../clients/index.js';
import { type Cut, cutHead } from '../engine/cut/index.js';
import { EngineError } from '../engine/errors.js';
import type { HeadOptions } from '../engine/head/index.js';
import {
  type GraduationTop,
  type HairShape,
  hairShape,
  type LandmarkReading,
  landmarkReadings,
  READ_LANDMARKS,
  type ReadLandmark,
  type WeightLine,
  weightLine,
  weightWindowOf,
} from '../engine/shape/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import { engineFormula, type Recorded } from './engine-formula.js';
import type { ZoneLength } from './entities.js';
import { headFor } from './heads.js';

/** A recorded formula cut on the client's head. */
export type CutShape = {
  readonly cut: Cut;
  readonly shape: HairShape;
  /** The back stacks up, so its weight line is read from the top of the stack. */
  readonly graduated: boolean;
  readonly weightLine: WeightLine;
};

type Point3 = [x: number, y: number, z: number];
/** Half the width of the strip that counts as the midline. */
const MIDLINE_MM = 8;

type OnHead = Pick<Client, 'headCircumferenceMm' | 'whorlSide' | 'partingSide'>;

/** What is known of a client's head, as the engine's options; the mean head for what is not. */
export function headOptions(client: OnHead | null): HeadOptions {
  return {
    ...(client?.headCircumferenceMm && { circumferenceMm: client.headCircumferenceMm }),
    ...(client?.whorlSide && { whorlSide: client.whorlSide }),
    ...(client?.partingSide && { partingSide: client.partingSide }),
  };
}

/** A cut shape takes some 300 KB and 10 ms; whoever is looked at is looked at again, by her window and her drawings. */
const cuts = new LRUCache<string, CutShape>({ max: 24 });

/** Cuts the formula. Throws EngineError with the step's number where that cannot be done. */
export function cutShape(options: HeadOptions, recorded: Recorded): CutShape {
  const { steps, lengths, links } = recorded;
  const key = JSON.stringify([options, steps, lengths, links]);
  const known = cuts.get(key);
  if (known) return known;
  const { head, fall } = headFor(options);
  const cut = cutHead(head, fall, engineFormula(recorded));
  const shape = withLine(cut, hairShape(head, fall, cut.lengthMm), isGraduated(recorded));
  cuts.set(key, shape);
  return shape;
}

function withLine(cut: Cut, shape: HairShape, graduated: boolean): CutShape {
  const window = weightWindowOf(shape, undefined, cut.spreadMm);
  return { cut, shape, graduated, weightLine: weightLine(window, graduated ? topOfBack(shape) : undefined) };
}

/** Whether the back is graduated: its last lifted step stacks up against a travelling guide. */
function isGraduated({ steps }: Recorded): boolean {
  const last = steps.findLast(
    ({ zone, geometry }) => zone === 'back' || geometry?.withZones?.includes('back'),
  );
  const elevation = last?.elevationDeg ?? 0;
  return (
    last?.method === 'travelling-guide' &&
    last.section !== 'vertical' &&
    last.section !== 'radial' &&
    elevation > 0 &&
    elevation < 90
  );
}

/** The highest hair of the back on the midline and how far down its end lies: there a graduation ends. */
function topOfBack({ head, tipsMm }: HairShape): GraduationTop | undefined {
  const { roots } = head;
  const back = ZONES.indexOf('back');
  let top = -1;
  for (let root = 0; root < roots.count; root += 1) {
    const [x, y, z] = [3 * root, 3 * root + 1, 3 * root + 2].map((i) => roots.position[i] ?? 0) as Point3;
    if (roots.zone[root] !== back || y > 0 || Math.abs(x) > MIDLINE_MM) continue;
    if (top < 0 || z > (roots.position[3 * top + 2] ?? 0)) top = root;
  }
  if (top < 0) return undefined;
  const zTopMm = roots.position[3 * top + 2] ?? 0;
  return { zTopMm, lengthMm: Math.max(0, zTopMm - (tipsMm[3 * top + 2] ?? zTopMm)) };
}

/** The same hair grown by so many mm in each zone. */
export function grown(
  { cut, shape, graduated }: CutShape,
  growthMm: Readonly<Record<Zone, number>>,
): CutShape {
  const { head, fall, lengthsMm } = shape;
  const byIndex = ZONES.map((zone) => growthMm[zone]);
  const longer = lengthsMm.map((mm, root) => mm + (byIndex[head.roots.zone[root] ?? 0] ?? 0));
  return withLine(cut, hairShape(head, fall, longer), graduated);
}

export function readings({ shape }: CutShape): LandmarkReading[] {
  return landmarkReadings(shape);
}

/** Growth in mm that brings a zone's ends to a landmark; undefined for a landmark or zone without a reading. */
export function growthToLandmark(shape: CutShape, zone: Zone, landmark: string): number | undefined {
  if (!READ_LANDMARKS.includes(landmark as ReadLandmark)) return undefined;
  return readings(shape).find((reading) => reading.zone === zone && reading.landmark === landmark)?.growthMm;
}

const FINEST_MM = 0.25;

/**
 * Growth in mm, even over the head, that drops the weight line by `dropMm`; undefined where the shape has no line.
 * Where the ends hang free one mm of growth drops it one mm; where they lie on the head it takes more.
 */
export function growthToDrop(shape: CutShape, dropMm: number): number | undefined {
  const from = shape.weightLine.lineZMm;
  if (from === null) return undefined;
  const even = (mm: number) => Object.fromEntries(ZONES.map((zone) => [zone, mm])) as Record<Zone, number>;
  const droppedBy = (mm: number) => {
    const line = grown(shape, even(mm)).weightLine.lineZMm;
    // A line that has blurred away holds no longer either.
    return line === null ? Number.POSITIVE_INFINITY : from - line;
  };
  // Ends that hang free, the usual case, need no search.
  if (Math.abs(droppedBy(dropMm) - dropMm) <= FINEST_MM) return dropMm;
  let low = 0;
  let high = 3 * dropMm + 1;
  if (droppedBy(high) < dropMm) return undefined;
  while (high - low > FINEST_MM) {
    const middle = (low + high) / 2;
    if (droppedBy(middle) >= dropMm) high = middle;
    else low = middle;
  }
  return (low + high) / 2;
}

/** The recorded lengths as the shape wants them, for drawing what was wanted. */
export function asWanted(
  whole: Omit<Recorded, 'lengths'> & { readonly lengths: readonly Pick<ZoneLength, 'zone' | 'wantedMm'>[] },
): Recorded {
  return {
    ...whole,
    steps: whole.steps.map((step) => ({ ...step, leftToGrow: false })),
    lengths: whole.lengths.map(({ zone, wantedMm }) => ({ zone, leftMm: wantedMm })),
  };
}

/** Why there is no shape, in words; with the step that cannot be cut, counted from 1 among those that are cut. */
export type Refusal = { readonly refused: string; readonly step?: number; readonly reason?: string };

/** Like cutShape, but with the refusal in words instead of thrown, for drawings that a page can do without. */
export function tryCutShape(options: HeadOptions, recorded: Recorded): CutShape | Refusal {
  try {
    return cutShape(options, recorded);
  } catch (error) {
    if (!(error instanceof EngineError)) throw error;
    const { step, message } = error;
    return step === undefined
      ? { refused: message }
      : { refused: `Step ${step}: ${message}`, step, reason: message };
  }
}
