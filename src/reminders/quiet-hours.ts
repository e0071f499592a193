import { addDays, dateIn, instantAt, timeIn } from '../base/index.js';
import type { QuietHours } from './rules.js';

/**
 * Whether a time of day is one at which nobody is disturbed. Quiet hours may run over midnight (20:00 to 09:00)
 * or not (00:00 to 07:00); of equal length nought, they do not exist.
 */
export function isQuiet({ quietFrom, quietUntil }: QuietHours, time: string): boolean {
  if (quietFrom <= quietUntil) return time >= quietFrom && time < quietUntil;
  return time >= quietFrom || time < quietUntil;
}

/** The instant itself where it is not quiet, else the end of those quiet hours. */
export function afterQuiet(hours: QuietHours, zone: string, instant: number): number {
  const time = timeIn(zone, instant);
  if (!isQuiet(hours, time)) return instant;
  const date = dateIn(zone, instant);
  return instantAt(zone, time < hours.quietUntil ? date : addDays(date, 1), hours.quietUntil);
}
