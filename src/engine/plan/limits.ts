import { mm, zoneName } from '../growth/index.js';
import type { Zone } from '../zones.js';

/**
 * What ends a shape. Lengths in mm. `sdMm` says how unsure the limit itself is (0 where the stylist set it).
 *
 * - grown-by: holds while the zone has grown by less than `mm` since it was cut.
 * - longer-than: holds while the zone is shorter than `mm`.
 * - contrast: holds while `against` stays that much longer than `zone`. By difference: length of `against` minus
 *   length of `zone` at least `value` mm (a negative value lets `zone` be the longer one by so much). By ratio:
 *   length of `against` divided by length of `zone` at least `value` (> 0). Both zones grow meanwhile.
 * - landmark: holds while the zone has grown by less than `allowanceMm`, the growth that brings its ends to the
 *   landmark. The allowance comes from the shape and must be filled in before a window is asked for.
 * - weight-line: holds while the weight line has dropped by less than `dropMm`. `allowanceMm` is the growth that
 *   does it; without it one mm of growth drops the line one mm, which is so wherever the ends hang free.
 * - root-band: holds while the undyed band is narrower than `mm`. Judged at `zone` (the parting: top), from
 *   `colouredOn` (the day of the cut).
 */
export type HoldLimit =
  | { readonly kind: 'grown-by'; readonly zone: Zone; readonly mm: number; readonly sdMm?: number }
  | { readonly kind: 'longer-than'; readonly zone: Zone; readonly mm: number; readonly sdMm?: number }
  | {
      readonly kind: 'contrast';
      readonly zone: Zone;
      readonly against: Zone;
      readonly by: 'difference' | 'ratio';
      readonly value: number;
      /** How unsure the limit is, in the unit of `value`. */
      readonly sd?: number;
    }
  | {
      readonly kind: 'landmark';
      readonly zone: Zone;
      readonly landmark: string;
      readonly allowanceMm?: number;
      readonly sdMm?: number;
    }
  | {
      readonly kind: 'weight-line';
      readonly zone: Zone;
      readonly dropMm: number;
      readonly allowanceMm?: number;
      readonly sdMm?: number;
    }
  | {
      readonly kind: 'root-band';
      readonly mm: number;
      readonly zone?: Zone;
      readonly colouredOn?: string;
      readonly sdMm?: number;
    };

/** What a zone was left at when it was last cut. */
export interface ZoneLeft {
  readonly zone: Zone;
  readonly leftMm: number;
  readonly leftSdMm: number;
  /**
   * ISO date of that cut, where it lies before the cut the window starts from: a tidy leaves the other zones growing.
   * Limits count from it. At most ten years before.
   */
  readonly leftOn?: string;
}

/** The zone a limit is judged at. */
export function limitZone(limit: HoldLimit): Zone {
  return limit.zone ?? 'top';
}

const LANDMARK_NAMES: Readonly<Record<string, string>> = {
  'lid-crease': 'crease of the eyelid',
  'upper-lid': 'edge of the upper eyelid',
  'ear-canal': 'ear canal',
  'nape-hairline': 'nape hairline',
};

function landmarkName(landmark: string): string {
  return LANDMARK_NAMES[landmark] ?? landmark;
}

/** The limit in plain words: "the nape has grown by 6 mm". */
export function limitInWords(limit: HoldLimit): string {
  const name = `the ${zoneName(limitZone(limit))}`;
  switch (limit.kind) {
    case 'grown-by':
      return `${name} has grown by ${mm(limit.mm)}`;
    case 'longer-than':
      return `${name} is longer than ${mm(limit.mm)}`;
    case 'contrast':
      if (limit.by === 'ratio')
        return `the ${zoneName(limit.against)} is no longer ${Number(limit.value.toFixed(2))} times as long as ${name}`;
      return limit.value < 0
        ? `${name} is more than ${mm(-limit.value)} longer than the ${zoneName(limit.against)}`
        : `${name} is no longer ${mm(limit.value)} shorter than the ${zoneName(limit.against)}`;
    case 'landmark':
      return `${name} reaches the ${landmarkName(limit.landmark)}`;
    case 'weight-line':
      return `the weight line at ${name} has dropped by ${mm(limit.dropMm)}`;
    case 'root-band':
      return `the root band is ${mm(limit.mm)} wide`;
  }
}
