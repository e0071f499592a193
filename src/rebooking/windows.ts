import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock } from '../base/index.js';
import { Client } from '../clients/index.js';
import {
  type CutShape,
  cutShape,
  Formulas,
  GrowthProfiles,
  headOptions,
  type WholeFormula,
} from '../cuts/index.js';
import type { GrowthProfile } from '../engine/growth/index.js';
import { type RebookingWindow, rebookingWindow } from '../engine/plan/index.js';
import { newId } from '../store/index.js';
import { engineLimit } from './engine-limits.js';
import { ShapeWindow } from './entities.js';

/** A whole formula, a growth profile and its shape (on the mean head, unless given) to a window; pure. */
export function windowOf(
  whole: WholeFormula,
  profile: GrowthProfile,
  cutOn: string,
  shape: CutShape = cutShape({}, whole),
): RebookingWindow {
  return rebookingWindow({
    profile,
    cutOn,
    zones: whole.lengths.map(({ zone, leftMm, leftSdMm, leftOn }) => ({ zone, leftMm, leftSdMm, leftOn })),
    limits: whole.limits.map((row) => engineLimit(row, whole.lengths, shape)),
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
    return (await this.computed(manager, clientId))?.window;
  }

  /**
   * Rewrites the stored window. To be called, in the same unit of work, by whatever changes a cut, a measurement,
   * a growth profile or a hold limit; the row is never older than what it was computed from.
   */
  async refresh(manager: EntityManager, clientId: string): Promise<ShapeWindow | undefined> {
    await manager.delete(ShapeWindow, { clientId });
    const computed = await this.computed(manager, clientId);
    if (!computed) return undefined;
    const { window, whole } = computed;
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

  private async computed(
    manager: EntityManager,
    clientId: string,
  ): Promise<{ window: RebookingWindow; whole: WholeFormula } | undefined> {
    const whole = await this.formulas.current(manager, clientId);
    if (!whole?.formula.cutOn || whole.limits.length === 0) return undefined;
    const client = await manager.findOneBy(Client, { id: clientId });
    const profile = await this.profiles.of(manager, clientId);
    const { cutOn } = whole.formula;
    return { window: windowOf(whole, profile, cutOn, cutShape(headOptions(client), whole)), whole };
  }
}
