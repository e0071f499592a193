export { type Contrast, contrasts, daysToMultiply } from './contrast.js';
export { type CornerReading, cornerOverRidge } from './corner.js';
export { type DrawingOptions, drawShape } from './draw/draw-shape.js';
export { SHAPE_CSS } from './draw/palette.js';
export { drawStrip, type StripFrame, type StripOptions } from './draw/strip.js';
export { shapeInWords } from './draw/words.js';
export { arcToPlane, buildFallTable, type CuttingPlane, type FallTable } from './fall.js';
export { type GraduatedBack, graduationTopLengthMm, graduationWeightLineMm } from './graduated-back.js';
export { evenRates, growLengths, type RatesMmPerDay } from './grow.js';
export { type LandmarkReading, landmarkReadings, READ_LANDMARKS, type ReadLandmark } from './landmarks.js';
export { type Outline, outlineFrom, type Silhouette, silhouette } from './outline.js';
export { solveElevationDeg, solveEndHeightMm, solveGuideLengthMm } from './solve.js';
export type { HairBody } from './thickness.js';
export { growShape, type HairShape, hairShape } from './tips.js';
export { VIEWS, type View } from './view.js';
export {
  type GraduationTop,
  type WeightLine,
  type WeightWindow,
  weightLine,
  weightWindowOf,
} from './weight-line.js';
export { zoneMeansMm } from './zone-means.js';
