import type { HoldLimitRow, ZoneLength } from '../cuts/index.js';
import type { HoldLimit } from '../engine/plan/index.js';
import type { Zone } from '../engine/zones.js';

type Standing = Pick<ZoneLength, 'zone' | 'leftMm' | 'wantedMm'>;

/** Growth already used up on the day the zone was left: it was left longer than the shape wants it. */
function usedUpMm(lengths: readonly Standing[], zone: Zone): number {
  const length = lengths.find((candidate) => candidate.zone === zone);
  return length ? Math.max(0, length.leftMm - length.wantedMm) : 0;
}

/**
 * A stored limit as the engine computes with it. Limits on growth count from the length the shape wants, or from
 * the length left where the zone was left to grow.
 */
export function engineLimit(row: HoldLimitRow, lengths: readonly Standing[]): HoldLimit {
  const { zone } = row;
  const remainingMm = Math.max(0, row.value - usedUpMm(lengths, zone));
  switch (row.kind) {
    case 'grown-by':
      return { kind: 'grown-by', zone, mm: remainingMm };
    case 'longer-than':
      return { kind: 'longer-than', zone, mm: row.value };
    case 'contrast':
      return {
        kind: 'contrast',
        zone,
        against: row.against ?? zone,
        by: row.by ?? 'difference',
        value: row.value,
      };
    case 'landmark':
      return { kind: 'landmark', zone, landmark: row.landmark ?? '', allowanceMm: remainingMm };
    case 'weight-line':
      return { kind: 'weight-line', zone, dropMm: row.value, allowanceMm: remainingMm };
    case 'root-band':
      return { kind: 'root-band', zone, mm: row.value };
  }
}
