import type { Client } from '../clients/index.js';
import { type Cut, cutHead } from '../engine/cut/index.js';
import { EngineError } from '../engine/errors.js';
import type { HeadOptions } from '../engine/head/index.js';
import {
  growShape,
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
export type CutShape = { readonly cut: Cut; readonly shape: HairShape; readonly weightLine: WeightLine };

type OnHead = Pick<Client, 'headCircumferenceMm' | 'whorlSide' | 'partingSide'>;

/** What is known of a client's head, as the engine's options; the mean head for what is not. */
export function headOptions(client: OnHead | null): HeadOptions {
  return {
    ...(client?.headCircumferenceMm && { circumferenceMm: client.headCircumferenceMm }),
    ...(client?.whorlSide && { whorlSide: client.whorlSide }),
    ...(client?.partingSide && { partingSide: client.partingSide }),
  };
}

/** Cuts the formula. Throws EngineError with the step's number where that cannot be done. */
export function cutShape(options: HeadOptions, recorded: Recorded): CutShape {
  const { head, fall } = headFor(options);
  const cut = cutHead(head, fall, engineFormula(recorded));
  return withLine(cut, hairShape(head, fall, cut.lengthMm));
}

function withLine(cut: Cut, shape: HairShape): CutShape {
  return { cut, shape, weightLine: lineOf(cut, shape) };
}

function lineOf(cut: Cut, shape: HairShape): WeightLine {
  return weightLine(weightWindowOf(shape, undefined, cut.spreadMm));
}

/** The same hair grown by so many mm in each zone. */
export function grown({ cut, shape }: CutShape, growthMm: Readonly<Record<Zone, number>>): CutShape {
  // The engine grows by rate times days and bounds the rate; a span of many days keeps it small.
  const days = 3650;
  const rates = Object.fromEntries(ZONES.map((zone) => [zone, Math.max(0, growthMm[zone]) / days]));
  return withLine(cut, growShape(shape, rates as Record<Zone, number>, days));
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

/** Like cutShape, but with the refusal in words instead of thrown, for drawings that a page can do without. */
export function tryCutShape(
  options: HeadOptions,
  recorded: Recorded,
): CutShape | { readonly refused: string } {
  try {
    return cutShape(options, recorded);
  } catch (error) {
    if (!(error instanceof EngineError)) throw error;
    return { refused: error.step === undefined ? error.message : `Step ${error.step}: ${error.message}` };
  }
}
