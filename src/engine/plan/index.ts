export { type HoldLimit, type HoldLimitKind, limitInWords, limitZone, type ZoneLeft } from './limits.js';
export { type TakeOff, takeOff } from './take-off.js';
export {
  type LimitOutlook,
  type RebookingWindow,
  rebookingWindow,
  type WindowDays,
  type WindowInput,
} from './window.js';
