import { contour, type Loop, loopArea } from './draw/contour.js';
import { calmLoop, resampleLoop } from './draw/path.js';
import { createRaster, type Raster, soften, splat } from './draw/raster.js';
import { liftSamples } from './lift.js';
import {
  STRAND_STEP_MM,
  type StrandSamples,
  type StrandTable,
  sampleStrands,
  strandTableOf,
} from './strands.js';
import { type HairBody, MIDDLING_HAIR, ROW_MM, type ThicknessGrid, thicknessGrid } from './thickness.js';
import type { HairShape } from './tips.js';
import { PROJECTIONS, type View } from './view.js';

/** The edge of a head of hair from one side, in mm: u to the viewer's right, v up. */
export interface Outline {
  readonly view: View;
  /** Closed lines around the hair on the viewer's side of the head; holes run clockwise. */
  readonly near: readonly Loop[];
  /** The same for the hair on the far side, which shows where head and near hair leave it free. */
  readonly far: readonly Loop[];
}

/** What the outlines of one shape share. */
export interface Silhouette {
  readonly shape: HairShape;
  readonly strands: StrandTable;
  readonly thickness: ThicknessGrid;
  /** Points of the strands where they are seen: lifted off their fall by stand-off and by the layer beneath. */
  readonly seen: StrandSamples;
}

const CELL_MM = 4;
/** Part of a full single layer of hair at which the eye sees hair and not skin. */
const COVER = 0.3;
/** Hair this far behind the head's middle plane still belongs to the viewer's side, so that the midline closes. */
const BEHIND_MM = 10;
/** Stubble from 1 mm on covers as much as 4 mm of hair do. */
const STUBBLE_FROM_MM = 1;
const STUBBLE_MM = 4;
const SMALLEST_LOOP_MM2 = 90;
const POINT_EVERY_MM = 5;
const CALM_PASSES = 2;
/** Farther than this from the scalp no hair is drawn. */
const ROOM_MM = 60;

/** Prepares the outlines of a shape. @throws EngineError as thicknessGrid does */
export function silhouette(shape: HairShape, body: HairBody = MIDDLING_HAIR): Silhouette {
  const strands = strandTableOf(shape.head, shape.fall);
  const seen = sampleStrands(strands, shape.lengthsMm);
  const thickness = thicknessGrid(strands, seen, body);
  liftSamples(strands, seen, shape.lengthsMm, thickness);
  return { shape, strands, thickness, seen };
}

/**
 * The outline of a shape from one side. Hair is laid on a grid of 4 mm where it is seen, and the edge of what covers is
 * followed.
 */
export function outlineFrom(silhouette: Silhouette, view: View): Outline {
  const near = emptyRaster(silhouette);
  const far = emptyRaster(silhouette);
  lay(silhouette, view, near, far);
  return { view, near: edges(near), far: edges(far) };
}

/** The parts of the viewer's side where most of what is seen is shorter than `underMm`: skin shines through there. */
export function shortPatches(silhouette: Silhouette, view: View, underMm: number): Loop[] {
  const near = emptyRaster(silhouette);
  lay(silhouette, view, near, null, underMm);
  return edges(near, COVER / 5);
}

function emptyRaster({ shape, thickness }: Silhouette): Raster {
  const { radiiMm } = shape.head.surface;
  const wide = Math.max(radiiMm.x, radiiMm.y) + ROOM_MM;
  return createRaster(
    {
      uMinMm: -wide,
      uMaxMm: wide,
      vMinMm: thickness.topMm - ROW_MM * thickness.rows - CELL_MM,
      vMaxMm: radiiMm.z + ROOM_MM,
    },
    CELL_MM,
  );
}

/** Lays the hair on the grids; with `underMm` longer hair counts against the shorter. */
function lay(
  { shape, strands, seen }: Silhouette,
  view: View,
  near: Raster,
  far: Raster | null,
  underMm = Infinity,
): void {
  const { uOfX, uOfY, depthOfX, depthOfY } = PROJECTIONS[view];
  const { start, x, y, z, mm } = seen;
  for (let root = 0; root < strands.count; root += 1) {
    const sign = shape.lengthsMm[root]! < underMm ? 1 : -1;
    const perMm = (sign * strands.areaMm2[root]!) / (CELL_MM * CELL_MM * STRAND_STEP_MM);
    const first = start[root]!;
    const end = start[root + 1]!;
    for (let k = first; k < end; k += 1) {
      let long = mm[k]!;
      if (k === first && long >= STUBBLE_FROM_MM && long < STUBBLE_MM) long = STUBBLE_MM;
      const into = depthOfX * x[k]! + depthOfY * y[k]! > -BEHIND_MM ? near : far;
      if (into) splat(into, uOfX * x[k]! + uOfY * y[k]!, z[k]!, perMm * long);
    }
  }
}

function edges(raster: Raster, level = COVER): Loop[] {
  soften(raster, 1);
  return contour(raster, level)
    .filter((loop) => Math.abs(loopArea(loop)) >= SMALLEST_LOOP_MM2)
    .map((loop) => calmLoop(resampleLoop(loop, POINT_EVERY_MM), CALM_PASSES));
}
