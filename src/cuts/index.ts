export { CutsModule } from './cuts.module.js';
export { type Draft, DraftKey, Drafts, type DraftVersion } from './drafts.js';
export {
  type Drawing,
  Drawings,
  type DrawnMoment,
  drawCut,
  drawCutViews,
  drawUnrecorded,
  type Pictures,
} from './drawings.js';
export type { Recorded } from './engine-formula.js';
export {
  CutFormula,
  CutStep,
  GrowthRecord,
  HoldLimitRow,
  Measurement,
  Visit,
  VisitDraft,
  ZoneLength,
  ZoneLink,
} from './entities.js';
export { FormulaInput, LengthInput, LimitInput, LinkInput, LONGEST_MM, StepInput } from './formula.input.js';
export { type FormulaOwner, Formulas, type StandingLength, type WholeFormula } from './formulas.js';
export { type GrowthAdjusted, GrowthAdjustedFormulas, type ZoneNow } from './growth-adjusted.js';
export { GrowthProfiles, MEASURING_SD_MM } from './growth-profiles.js';
export { PastVisits } from './past-visits.js';
export {
  type CutShape,
  cutShape,
  grown,
  growthToDrop,
  growthToLandmark,
  headOptions,
  type Refusal,
} from './shape-of.js';
export type { StepGeometry } from './step-geometry.js';
export * from './terms.js';
export { HOLD_STATES, HoldMarkInput, MeasurementInput, VisitInput } from './visit.input.js';
export { Visits } from './visits.js';
