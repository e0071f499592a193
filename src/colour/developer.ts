/**
 * Percent of hydrogen peroxide in a developer of so many volumes: 40 volumes are 12 % (Commission Regulation (EU)
 * 2019/831, Annex III entry 12), and the trade counts in proportion, 10 volumes as 3 % (common practice, no source).
 */
export function percentOfVolumes(volumes: number): number {
  return round((volumes * 12) / 40);
}

/** The same backwards. */
export function volumesOfPercent(percent: number): number {
  return round((percent * 40) / 12);
}

/** The most that hair products may hold, present or released: the same entry, (a) hair products. */
export const MOST_PERCENT = 12;

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
