/** A window in days after the visit: the shape has failed by then with probability 10, 50 and 90 %. */
export type WindowDays = {
  readonly earliestDays: number;
  readonly dueDays: number;
  readonly latestDays: number;
};

const SURE = Math.log(0.9 / 0.1);
/** Whole days may coincide; a distribution may not stand still. */
const APART_DAYS = 0.5;

/**
 * Probability that the shape has failed by day `firstDay`, ... `lastDay`, rebuilt from the three dates of a window: in log-odds
 * against 1 / days a window runs nearly straight, so straight lines join the three dates and go on beyond them.
 */
export function failedByDay(window: WindowDays, lastDay: number, firstDay = 0): Float64Array {
  const earliest = Math.max(APART_DAYS, window.earliestDays);
  const due = Math.max(earliest + APART_DAYS, window.dueDays);
  const latest = Math.max(due + APART_DAYS, window.latestDays);
  const early = SURE / (1 / earliest - 1 / due);
  const late = SURE / (1 / due - 1 / latest);
  const failed = new Float64Array(lastDay - firstDay + 1);
  for (let day = Math.max(1, firstDay); day <= lastDay; day += 1) {
    const odds = (day < due ? early : late) * (1 / due - 1 / day);
    failed[day - firstDay] = 1 / (1 + Math.exp(-odds));
  }
  return failed;
}
