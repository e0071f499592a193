export { explainReshape, explainTakeOff, explainTidies, explainWindow } from './explain.js';
export { type HoldMark, type LearnedLimit, learnLimit } from './learn-limit.js';
export type { HoldLimit, ZoneLeft } from './limits.js';
export {
  type CutService,
  type PlannedCut,
  type PlanTotals,
  planTidies,
  type TidiesInput,
  type TidiesPlan,
  type ZoneReach,
} from './plan-tidies.js';
export { reachedOf, type ZoneNow } from './reached.js';
export {
  type Reshape,
  type ReshapeInput,
  type ReshapeOutlook,
  type ReshapeStage,
  type ReshapeZone,
  reshapePath,
} from './reshape.js';
export { type TakeOff, takeOff } from './take-off.js';
export {
  type LimitOutlook,
  type RebookingWindow,
  rebookingWindow,
  type WindowDays,
} from './window.js';
export { packWindow, type WindowInput } from './window-row.js';
export { type BatchWindows, batchOf, goneBy, type WindowBatch, windowsOf } from './windows-of.js';
export { fitToWorkingDays, type WorkingWindow } from './working-days.js';
