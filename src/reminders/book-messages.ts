import { Injectable, type OnModuleInit } from '@nestjs/common';
import { Clock } from '../base/index.js';
import { BookEffects } from '../book/index.js';
import { oweForBooking, oweForCancellation, oweForMove, oweNoMore } from './owing.js';

/** Owes messages in the very transaction that changes the book: both are there, or neither. */
@Injectable()
export class BookMessages implements OnModuleInit {
  constructor(
    private readonly effects: BookEffects,
    private readonly clock: Clock,
  ) {}

  onModuleInit(): void {
    this.effects.register({
      booked: (manager, appointment) => oweForBooking(manager, appointment, this.clock.now()),
      moved: async (manager, appointment, before) => {
        const { startsAt, staffId, serviceId } = appointment;
        const onlyItsLength =
          startsAt === before.startsAt && staffId === before.staffId && serviceId === before.serviceId;
        if (!onlyItsLength) await oweForMove(manager, appointment, this.clock.now());
      },
      cancelled: (manager, appointment) => oweForCancellation(manager, appointment, this.clock.now()),
      noShow: oweNoMore,
      done: oweNoMore,
    });
  }
}
