import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { DomainError } from '../base/index.js';
import { Client } from '../clients/index.js';
import {
  CutFormula,
  type Drawing,
  drawCut,
  Formulas,
  GrowthAdjustedFormulas,
  headOptions,
  type WholeFormula,
} from '../cuts/index.js';
import type { Why } from '../engine/growth/index.js';
import { explainReshape, type Reshape, type ReshapeInput, reshapePath } from '../engine/plan/index.js';
import type { View } from '../engine/shape/index.js';

/** The way from the hair on the head to another formula. */
export type ReshapePath = {
  readonly target: WholeFormula;
  readonly path: Reshape;
  readonly why: Why;
  /** For each stage of the path, in its order; null for those between the first few and the last. */
  readonly drawings: readonly (Drawing | null)[];
};

const FIRST_DRAWN = 5;

@Injectable()
export class Reshapes {
  constructor(
    private readonly formulas: Formulas,
    private readonly adjusted: GrowthAdjustedFormulas,
  ) {}

  /**
   * What of `targetId` (one of the house's formulas or the client's own) can be cut on `on`, and from when the rest.
   * Throws CUT.NOT_FOUND, RESHAPE.NO_CUT before a first recorded cut, and EngineErrors in words.
   */
  async path(
    manager: EntityManager,
    clientId: string,
    targetId: string,
    on: string,
    view: View = 'right',
  ): Promise<ReshapePath> {
    const client = await manager.findOneByOrFail(Client, { id: clientId });
    await requireReachable(manager, client, targetId);
    const target = await this.formulas.read(manager, targetId);
    const now = await this.adjusted.of(manager, clientId, on);
    if (!now) {
      throw new DomainError(
        'refused',
        'RESHAPE.NO_CUT',
        'Record what is on the head first: there is no cut to start from.',
      );
    }
    const input: ReshapeInput = {
      profile: now.profile,
      on,
      zones: now.zones.flatMap(({ zone, now: { meanMm, sdMm } }) => {
        const wanted = target.lengths.find((length) => length.zone === zone);
        return wanted ? [{ zone, presentMm: meanMm, presentSdMm: sdMm, wantedMm: wanted.wantedMm }] : [];
      }),
    };
    if (input.zones.length === 0) {
      throw new DomainError(
        'refused',
        'RESHAPE.NO_LENGTHS',
        'The wanted shape records no lengths: give its zones lengths first.',
      );
    }
    const path = reshapePath(input);
    const drawings = path.stages.map((stage, i): Drawing | null => {
      if (i >= FIRST_DRAWN && i < path.stages.length - 1) return null;
      const source = stage.kind === 'target' || path.feasibleToday ? target : now.whole;
      const lengths = source.lengths.map(({ zone, leftMm }) => ({
        zone,
        leftMm: stage.lengthsMm[zone] ?? leftMm,
      }));
      const steps = source.steps.map((step) => ({ ...step, leftToGrow: false }));
      return drawCut(headOptions(client), { ...source, steps, lengths }, view, {
        id: `stage-${i}`,
        title: `${target.formula.name}: ${stage.kind === 'target' ? 'there' : 'on the way'}, ${stage.on}`,
      });
    });
    return { target, path, why: explainReshape(input, path), drawings };
  }
}

/** A client's wish may be one of the house's shapes or one of her own, never another client's. */
async function requireReachable(manager: EntityManager, client: Client, formulaId: string): Promise<void> {
  const formula = await manager.findOneBy(CutFormula, { id: formulaId, salonId: client.salonId });
  if (!formula || (formula.clientId !== null && formula.clientId !== client.id)) {
    throw DomainError.notFound('CUT.NOT_FOUND', 'cut formula');
  }
}
