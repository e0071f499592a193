import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, daysBetween } from '../base/index.js';
import { Formulas, GrowthProfiles, type WholeFormula } from '../cuts/index.js';
import { type GrowthProfile, projectLength } from '../engine/growth/index.js';
import { type RebookingWindow, rebookingWindow, type ZoneLeft } from '../engine/plan/index.js';
import { newId } from '../store/index.js';
import { engineLimit } from './engine-limits.js';
import { ShapeWindow } from './entities.js';

/** Every zone as it stood on the day of the formula: one left alone that day had already grown since its own cut. */
function zonesOn(whole: WholeFormula, profile: GrowthProfile, cutOn: string): ZoneLeft[] {
  return whole.lengths.map(({ zone, leftMm, leftSdMm, leftOn }) => {
    const days = daysBetween(leftOn, cutOn);
    if (days <= 0) return { zone, leftMm, leftSdMm };
    const { meanMm, sdMm } = projectLength(profile, { zone, leftMm, leftSdMm, days });
    return { zone, leftMm: meanMm, leftSdMm: sdMm };
  });
}

/** When clients should come back: computed by the engine, kept as one row a client for lists over the whole book. */
@Injectable()
export class Windows {
  constructor(
    private readonly clock: Clock,
    private readonly formulas: Formulas,
    private readonly profiles: GrowthProfiles,
  ) {}

  /** The window of what stands on the client's head; undefined without a cut or without hold limits. */
  async compute(manager: EntityManager, clientId: string): Promise<RebookingWindow | undefined> {
    const whole = await this.formulas.current(manager, clientId);
    if (!whole?.formula.cutOn || whole.limits.length === 0) return undefined;
    return windowOf(whole, await this.profiles.of(manager, clientId), whole.formula.cutOn);
  }

  /**
   * Rewrites the stored window. To be called, in the same unit of work, by whatever changes a cut, a measurement,
   * a growth profile or a hold limit; the row is never older than what it was computed from.
   */
  async refresh(manager: EntityManager, clientId: string): Promise<ShapeWindow | undefined> {
    await manager.delete(ShapeWindow, { clientId });
    const whole = await this.formulas.current(manager, clientId);
    if (!whole?.formula.cutOn || whole.limits.length === 0) return undefined;
    const window = windowOf(whole, await this.profiles.of(manager, clientId), whole.formula.cutOn);
    const row = manager.create(ShapeWindow, {
      id: newId(),
      salonId: whole.formula.salonId,
      clientId,
      formulaId: whole.formula.id,
      earliestOn: window.earliestOn,
      dueOn: window.dueOn,
      latestOn: window.latestOn,
      firstZone: window.first.zone,
      reason: window.first.reason,
      computedAt: this.clock.now(),
    });
    await manager.insert(ShapeWindow, row);
    return row;
  }

  /** The stored window. */
  async of(manager: EntityManager, clientId: string): Promise<ShapeWindow | undefined> {
    return (await manager.findOneBy(ShapeWindow, { clientId })) ?? undefined;
  }
}

/** Pure part of the above: a whole formula and a growth profile to a window. */
export function windowOf(whole: WholeFormula, profile: GrowthProfile, cutOn: string): RebookingWindow {
  const zones = zonesOn(whole, profile, cutOn);
  const standing = whole.lengths.map((length) => ({
    zone: length.zone,
    wantedMm: length.wantedMm,
    leftMm: zones.find(({ zone }) => zone === length.zone)?.leftMm ?? length.leftMm,
  }));
  return rebookingWindow({
    profile,
    cutOn,
    zones,
    limits: whole.limits.map((row) => engineLimit(row, standing)),
  });
}
