export { Checkout, type Suggestion } from './checkout.js';
export { type DueClient, DueList } from './due-list.js';
export { engineLimit } from './engine-limits.js';
export { NOT_NOW_REASONS, NotNow, type NotNowReason, ShapeWindow } from './entities.js';
export { HoldMarks, type MovedLimit, withMovedLimits } from './hold-marks.js';
export { RebookingModule } from './rebooking.module.js';
export { type ReshapePath, Reshapes } from './reshapes.js';
export { type TidyPlan, TidyPlans } from './tidy-plans.js';
export { batchOfStored, Windows, windowColumns, windowOf } from './windows.js';
