import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { daysBetween } from '../base/index.js';
import { Client } from '../clients/index.js';
import {
  describeProfile,
  type GrowthProfile,
  type LengthProjection,
  projectLength,
  type ZoneRate,
  zoneRate,
} from '../engine/growth/index.js';
import type { HeadOptions } from '../engine/head/index.js';
import { type TakeOff, takeOff } from '../engine/plan/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import type { CutStep, ZoneLength } from './entities.js';
import { Formulas, type WholeFormula } from './formulas.js';
import { GrowthProfiles } from './growth-profiles.js';
import { headOptions } from './shape-of.js';

/** One zone of the formula as it is on the head on a day. */
export type ZoneNow = {
  readonly zone: Zone;
  readonly left: ZoneLength;
  readonly days: number;
  readonly now: LengthProjection;
  readonly takeOff: TakeOff;
  readonly rate: ZoneRate;
  /** What is known of this zone's growth, in words. */
  readonly knowledge: string;
  readonly steps: readonly CutStep[];
};

/** The current formula with every zone's length projected to a day. */
export type GrowthAdjusted = {
  readonly on: string;
  readonly whole: WholeFormula;
  /** What is known of the head it is on. */
  readonly head: HeadOptions;
  readonly profile: GrowthProfile;
  readonly zones: readonly ZoneNow[];
};

/** Zones in the order in which they were cut, those without a step last, as on the head. */
function inCuttingOrder(whole: WholeFormula): ZoneLength[] {
  const firstStep = (zone: Zone) => whole.steps.find((step) => step.zone === zone)?.position ?? Infinity;
  return [...whole.lengths].sort(
    (a, b) => firstStep(a.zone) - firstStep(b.zone) || ZONES.indexOf(a.zone) - ZONES.indexOf(b.zone),
  );
}

function zoneNow(whole: WholeFormula, profile: GrowthProfile, left: ZoneLength, on: string): ZoneNow {
  const days = Math.max(0, daysBetween(left.leftOn, on));
  const now = projectLength(profile, { zone: left.zone, leftMm: left.leftMm, leftSdMm: left.leftSdMm, days });
  return {
    zone: left.zone,
    left,
    days,
    now,
    takeOff: takeOff({ projectedMm: now, wantedMm: left.wantedMm }),
    rate: zoneRate(profile, left.zone),
    knowledge: describeProfile(profile, left.zone),
    steps: whole.steps.filter((step) => step.zone === left.zone),
  };
}

@Injectable()
export class GrowthAdjustedFormulas {
  constructor(
    private readonly formulas: Formulas,
    private readonly profiles: GrowthProfiles,
  ) {}

  /** The client's current formula grown to `on`; undefined before her first recorded cut. */
  async of(manager: EntityManager, clientId: string, on: string): Promise<GrowthAdjusted | undefined> {
    const whole = await this.formulas.current(manager, clientId);
    if (!whole) return undefined;
    const client = await manager.findOneBy(Client, { id: clientId });
    const profile = await this.profiles.ofLoaded(manager, clientId, client);
    const zones = inCuttingOrder(whole).map((left) => zoneNow(whole, profile, left, on));
    return { on, whole, head: headOptions(client), profile, zones };
  }
}
