import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { daysBetween } from '../base/index.js';
import { Client } from '../clients/index.js';
import {
  cutShape,
  Formulas,
  GrowthProfiles,
  type HoldLimitRow,
  type HoldMarkInput,
  headOptions,
  type LimitInput,
  MEASURING_SD_MM,
  type MeasurementInput,
  type WholeFormula,
  type ZoneLength,
} from '../cuts/index.js';
import { type GrowthProfile, projectLength } from '../engine/growth/index.js';
import { type HoldLimit, learnLimit, reachedOf, type ZoneNow } from '../engine/plan/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import { engineLimit } from './engine-limits.js';

/** A limit that a mark has moved. */
export type MovedLimit = {
  readonly row: HoldLimitRow;
  readonly value: number;
  readonly sd: number;
  readonly note: string;
};

function sizeOf(limit: HoldLimit): number {
  switch (limit.kind) {
    case 'contrast':
      return limit.value;
    case 'landmark':
      return limit.allowanceMm ?? 0;
    case 'weight-line':
      return limit.allowanceMm ?? limit.dropMm;
    default:
      return limit.mm;
  }
}

/** Whether the lengths that tell how far a limit had come are all there; a root band's never are. */
function canTell(limit: HoldLimit, left: readonly ZoneLength[], now: readonly ZoneNow[]): boolean {
  if (limit.kind === 'root-band') return false;
  const known = (zone: Zone) => now.some((length) => length.zone === zone);
  if (!known(limit.zone)) return false;
  if (limit.kind === 'contrast') return known(limit.against);
  return limit.kind === 'longer-than' || left.some(({ zone }) => zone === limit.zone);
}

/** How close to its end a limit had come; a contrast is passed downwards. */
function used(limit: HoldLimit, reached: number): number {
  const size = sizeOf(limit);
  return limit.kind === 'contrast' ? size / Math.max(reached, 1e-6) : reached / Math.max(size, 1e-6);
}

/**
 * Moves a client's limits by what the stylist saw on arrival. "Still holding" speaks of every limit of its zone; "gone"
 * of the one that had come farthest, for no mark says which it was.
 */
@Injectable()
export class HoldMarks {
  constructor(
    private readonly formulas: Formulas,
    private readonly profiles: GrowthProfiles,
  ) {}

  /** What the marks make of the limits that stood before this visit; nothing is written. */
  async learn(
    manager: EntityManager,
    clientId: string,
    marks: readonly HoldMarkInput[],
    measurements: readonly MeasurementInput[],
    on: string,
  ): Promise<MovedLimit[]> {
    const whole = await this.formulas.current(manager, clientId);
    if (!whole) return [];
    const client = await manager.findOneBy(Client, { id: clientId });
    const profile = await this.profiles.of(manager, clientId);
    const shape = cutShape(headOptions(client), whole);
    const now = ZONES.flatMap((zone) => lengthOn(whole, profile, measurements, zone, on) ?? []);
    return marks.flatMap((mark) => {
      const known = whole.limits
        .filter(({ zone }) => zone === mark.zone)
        .flatMap((row) => {
          const limit = engineLimit(row, whole.lengths, shape);
          if (!canTell(limit, whole.lengths, now)) return [];
          const { reached, reachedSd } = reachedOf(limit, whole.lengths, now);
          // Hair that measures shorter than it was left has grown nothing that a limit could tell.
          return [
            { row, limit, reached: limit.kind === 'contrast' ? reached : Math.max(0, reached), reachedSd },
          ];
        })
        .sort((a, b) => used(b.limit, b.reached) - used(a.limit, a.reached));
      const meant = mark.state === 'still-holding' ? known : known.slice(0, 1);
      return meant.map(({ row, limit, reached, reachedSd }): MovedLimit => {
        const learned = learnLimit(limit, { state: mark.state, reached, reachedSd });
        const sd = learned.limit.kind === 'contrast' ? learned.limit.sd : learned.limit.sdMm;
        return {
          row,
          value: row.value + sizeOf(learned.limit) - sizeOf(limit),
          sd: sd ?? 0,
          note: learned.note,
        };
      });
    });
  }
}

function lengthOn(
  whole: WholeFormula,
  profile: GrowthProfile,
  measurements: readonly MeasurementInput[],
  zone: Zone,
  on: string,
): ZoneNow | undefined {
  const measured = measurements.find((measurement) => measurement.zone === zone);
  if (measured) return { zone, lengthMm: measured.lengthMm, sdMm: MEASURING_SD_MM[measured.tool] };
  const left = whole.lengths.find((length) => length.zone === zone);
  if (!left) return undefined;
  const days = Math.max(0, daysBetween(left.leftOn, on));
  const { meanMm, sdMm } = projectLength(profile, {
    zone,
    leftMm: left.leftMm,
    leftSdMm: left.leftSdMm,
    days,
  });
  return { zone, lengthMm: meanMm, sdMm };
}

const same = (row: HoldLimitRow, limit: LimitInput) =>
  row.kind === limit.kind &&
  row.zone === limit.zone &&
  row.against === (limit.against ?? null) &&
  row.by === (limit.by ?? null) &&
  row.landmark === (limit.landmark ?? null) &&
  row.value === limit.value;

/** The limits to record with the new formula: those copied unchanged take what was learned, a changed one stays. */
export function withMovedLimits(limits: readonly LimitInput[], moved: readonly MovedLimit[]): LimitInput[] {
  return limits.map((limit) => {
    const learned = moved.find(({ row }) => same(row, limit));
    return learned ? { ...limit, value: learned.value, sd: learned.sd } : limit;
  });
}
