import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import type { Client } from './entities.js';

type Whose = Pick<Client, 'id' | 'salonId'>;

/** What a later room does in the same transaction when clients come, change or are erased; when it throws, nothing has. */
export type ClientEffect = {
  /** All of one salon. */
  readonly added?: (manager: EntityManager, clients: readonly Whose[]) => Promise<void>;
  readonly changed?: (manager: EntityManager, client: Whose) => Promise<void>;
  /** Everything personal is out already; her id stays. */
  readonly erased?: (manager: EntityManager, client: Whose) => Promise<void>;
};

/** Lets rooms that come later follow what happens to clients; they register when their module starts. */
@Injectable()
export class ClientEffects {
  private readonly effects: ClientEffect[] = [];

  register(effect: ClientEffect): void {
    this.effects.push(effect);
  }

  async added(manager: EntityManager, clients: readonly Whose[]): Promise<void> {
    for (const effect of this.effects) await effect.added?.(manager, clients);
  }

  async changed(manager: EntityManager, client: Whose): Promise<void> {
    for (const effect of this.effects) await effect.changed?.(manager, client);
  }

  async erased(manager: EntityManager, client: Whose): Promise<void> {
    for (const effect of this.effects) await effect.erased?.(manager, client);
  }
}
