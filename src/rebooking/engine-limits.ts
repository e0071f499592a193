import {
  type CutShape,
  growthToDrop,
  growthToLandmark,
  type HoldLimitRow,
  type ZoneLength,
} from '../cuts/index.js';
import type { HoldLimit } from '../engine/plan/index.js';
import type { Zone } from '../engine/zones.js';

/** Day of the newest colour of the roots, of the zones where there was one. */
export type Coloured = ReadonlyMap<Zone, string>;

type Left = Pick<ZoneLength, 'zone' | 'leftMm' | 'wantedMm'>;

/** Growth used up before the first day: a zone that was left longer than the shape wants it. */
function usedUpMm(lengths: readonly Left[], zone: Zone): number {
  const length = lengths.find((candidate) => candidate.zone === zone);
  return length ? Math.max(0, length.leftMm - length.wantedMm) : 0;
}

/**
 * A stored limit as the engine computes with it, for hair left at `lengths` and shaped like `shape`.
 *
 * Limits on growth count from the length the shape wants, or from the length left where a zone was left to grow. A
 * landmark's allowance is read from the drawn ends (its value: how far past the landmark they may go); a weight
 * line's is the growth that drops the line that far. A root band counts from the day its roots were coloured, from the
 * cut where no colour is on record.
 */
export function engineLimit(
  row: HoldLimitRow,
  lengths: readonly Left[],
  shape: CutShape,
  coloured: Coloured = new Map(),
): HoldLimit {
  const { zone } = row;
  const doubt = row.sd === null ? {} : { sdMm: row.sd };
  switch (row.kind) {
    case 'grown-by':
      return { kind: 'grown-by', zone, mm: Math.max(0, row.value - usedUpMm(lengths, zone)), ...doubt };
    case 'longer-than':
      return { kind: 'longer-than', zone, mm: row.value, ...doubt };
    case 'contrast':
      return {
        kind: 'contrast',
        zone,
        against: row.against ?? zone,
        by: row.by ?? 'difference',
        value: row.value,
        ...(row.sd !== null && { sd: row.sd }),
      };
    case 'landmark': {
      const landmark = row.landmark ?? '';
      const growthMm = growthToLandmark(shape, zone, landmark);
      return {
        kind: 'landmark',
        zone,
        landmark,
        ...(growthMm !== undefined && { allowanceMm: growthMm + row.value }),
        ...doubt,
      };
    }
    case 'weight-line':
      return {
        kind: 'weight-line',
        zone,
        dropMm: row.value,
        allowanceMm: Math.max(0, (growthToDrop(shape, row.value) ?? row.value) - usedUpMm(lengths, zone)),
        ...doubt,
      };
    case 'root-band': {
      const colouredOn = coloured.get(zone);
      return {
        kind: 'root-band',
        zone,
        mm: row.value,
        ...(colouredOn !== undefined && { colouredOn }),
        ...doubt,
      };
    }
  }
}
