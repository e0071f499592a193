import { Inject, Injectable, type OnModuleInit } from '@nestjs/common';
import { Clock } from '../base/index.js';
import { BookEffects } from '../book/index.js';
import { SETTINGS, type Settings } from '../store/index.js';
import { channelsOf } from './channels.js';
import { NudgeExclusions } from './nudge-exclusions.js';
import { oweAfterNoShow, oweForBooking, oweForCancellation, oweForMove, oweNoMore } from './owing.js';

/** Owes messages in the very transaction that changes the book: both are there, or neither. */
@Injectable()
export class BookMessages implements OnModuleInit {
  constructor(
    private readonly effects: BookEffects,
    private readonly clock: Clock,
    private readonly exclusions: NudgeExclusions,
    @Inject(SETTINGS) private readonly settings: Settings,
  ) {}

  onModuleInit(): void {
    const channels = channelsOf(this.settings);
    const now = () => this.clock.now();
    this.effects.register({
      booked: (manager, appointment) => oweForBooking(manager, appointment, now(), channels),
      moved: async (manager, appointment, before) => {
        const { startsAt, staffId, serviceId } = appointment;
        const onlyItsLength =
          startsAt === before.startsAt && staffId === before.staffId && serviceId === before.serviceId;
        if (!onlyItsLength) await oweForMove(manager, appointment, now(), channels);
      },
      cancelled: (manager, appointment) => oweForCancellation(manager, appointment, now(), channels),
      noShow: async (manager, appointment) => {
        const { salonId, clientId } = appointment;
        if (await this.exclusions.leavesOut(manager, salonId, clientId))
          await oweNoMore(manager, appointment);
        else await oweAfterNoShow(manager, appointment, now(), channels);
      },
      done: oweNoMore,
    });
  }
}
