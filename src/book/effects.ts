import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import type { Appointment } from './entities.js';

/** Where an appointment was before it was moved. */
export type Before = Pick<Appointment, 'startsAt' | 'endsAt' | 'staffId' | 'serviceId'>;

type After = (manager: EntityManager, appointment: Appointment) => Promise<void>;

/** What a later room does in the same transaction when the book changes; when it throws, nothing has changed. */
export type BookEffect = {
  readonly booked?: After;
  readonly moved?: (manager: EntityManager, appointment: Appointment, before: Before) => Promise<void>;
  readonly cancelled?: After;
  readonly arrived?: After;
  /** The arrival was taken back: booked again. */
  readonly unArrived?: After;
  /** The client said that she comes. */
  readonly confirmed?: After;
  readonly noShow?: After;
  readonly done?: After;
};

/** Lets rooms that come after the book follow what happens in it; they register when their module starts. */
@Injectable()
export class BookEffects {
  private readonly effects: BookEffect[] = [];

  register(effect: BookEffect): void {
    this.effects.push(effect);
  }

  /** Calls every effect in the order of registration. */
  async happened(
    what: Exclude<keyof BookEffect, 'moved'>,
    manager: EntityManager,
    appointment: Appointment,
  ): Promise<void> {
    for (const effect of this.effects) await effect[what]?.(manager, appointment);
  }

  async moved(manager: EntityManager, appointment: Appointment, before: Before): Promise<void> {
    for (const effect of this.effects) await effect.moved?.(manager, appointment, before);
  }
}
