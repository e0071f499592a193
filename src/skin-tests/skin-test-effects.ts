import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import type { SkinTest } from './entities.js';

type After = (manager: EntityManager, test: SkinTest, salonId: string) => Promise<void>;

/** What a later room does in the same transaction; when it throws, nothing has changed. */
export type SkinTestEffect = {
  readonly placed: After;
  readonly read: After;
};

/** Lets rooms that come later follow skin tests; they register when their module starts. */
@Injectable()
export class SkinTestEffects {
  private readonly effects: SkinTestEffect[] = [];

  register(effect: SkinTestEffect): void {
    this.effects.push(effect);
  }

  async happened(
    what: keyof SkinTestEffect,
    manager: EntityManager,
    test: SkinTest,
    salonId: string,
  ): Promise<void> {
    for (const effect of this.effects) await effect[what](manager, test, salonId);
  }
}
