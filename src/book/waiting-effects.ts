import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import type { Appointment } from './entities.js';
import type { WaitingOffer } from './waiting-entities.js';

/** What a later room does in the same transaction when a free time is offered; when it throws, nothing has changed. */
export type WaitingEffect = {
  /** To be told to the client, with a link (`WaitingList.issue`). */
  readonly offered?: (manager: EntityManager, offer: WaitingOffer) => Promise<void>;
  /** She has it; the book's own effects tell of the appointment. */
  readonly accepted?: (
    manager: EntityManager,
    offer: WaitingOffer,
    appointment: Appointment,
  ) => Promise<void>;
  /** Somebody else has it: to be told kindly. She still waits. */
  readonly gone?: (manager: EntityManager, offer: WaitingOffer) => Promise<void>;
};

/** Lets rooms that come after the book follow what happens to offers; they register when their module starts. */
@Injectable()
export class WaitingEffects {
  private readonly effects: WaitingEffect[] = [];

  register(effect: WaitingEffect): void {
    this.effects.push(effect);
  }

  async offered(manager: EntityManager, offer: WaitingOffer): Promise<void> {
    for (const effect of this.effects) await effect.offered?.(manager, offer);
  }

  async accepted(manager: EntityManager, offer: WaitingOffer, appointment: Appointment): Promise<void> {
    for (const effect of this.effects) await effect.accepted?.(manager, offer, appointment);
  }

  async gone(manager: EntityManager, offer: WaitingOffer): Promise<void> {
    for (const effect of this.effects) await effect.gone?.(manager, offer);
  }
}
