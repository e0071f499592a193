export { AsyncContext } from './async-context.js';
export { Clock, FixedClock, SystemClock } from './clock.js';
export { DomainError, type DomainErrorKind, type FieldProblem } from './domain-error.js';
export {
  Blankable,
  FlagFromText,
  given,
  IsDateText,
  isWritableLocale,
  NumberFromText,
  Trimmed,
  UpperCase,
} from './dto.js';
export { fold } from './fold.js';
export { EIGHTHS, type LengthUnit, MM_PER, parseLength, type Ruler } from './length-input.js';
export { toE164 } from './phone.js';
export { projectRoot } from './project-root.js';
export {
  addDays,
  type ClockChange,
  clockChangeOn,
  dateIn,
  dateInWords,
  dayBounds,
  daysBetween,
  instantAt,
  isDate,
  isTime,
  isZoneName,
  timeIn,
  weekdayOf,
} from './time.js';
export { validated } from './validate.js';
