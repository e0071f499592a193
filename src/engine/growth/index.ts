export { addDays, daysBetween } from './days.js';
export { describeProfile } from './describe.js';
export { LOADING_NUMBERS, loadingsOf } from './loadings.js';
export {
  type ObservationResult,
  observeGrowth,
  observeVisit,
  type Verdict,
  type VisitResult,
} from './observe.js';
export { type GrowthPrior, growthPrior, type StatedByClient } from './prior.js';
export { ageProfile, type GrowthProfile, initialProfile } from './profile.js';
export {
  type LengthProjection,
  type ProjectionInput,
  projectLength,
  type ZoneRate,
  zoneRate,
} from './project.js';
export { type RootBand, rootBand } from './root-band.js';
export { type LengthObservation, zoneName } from './trust.js';
export { explainLength, knowledgeEnds, mm, type Why } from './why.js';
