import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';

/** What a later room does in the same transaction when a client was coloured; when it throws, nothing has changed. */
export type ColourEffect = (manager: EntityManager, clientId: string) => Promise<void>;

/** Lets rooms that come after colour follow what is recorded in it; they register when their module starts. */
@Injectable()
export class ColourEffects {
  private readonly effects: ColourEffect[] = [];

  register(effect: ColourEffect): void {
    this.effects.push(effect);
  }

  /** Calls every effect in the order of registration. */
  async coloured(manager: EntityManager, clientId: string): Promise<void> {
    for (const effect of this.effects) await effect(manager, clientId);
  }
}
