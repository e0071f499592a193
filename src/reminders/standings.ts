import { Injectable } from '@nestjs/common';
import { Clock } from '../base/index.js';
import { type Appointment, WaitingOffer } from '../book/index.js';
import { ShapeWindow } from '../rebooking/index.js';
import { SKIN_TEST_WAIT_MS, SkinTest } from '../skin-tests/index.js';
import { Reader } from '../store/index.js';
import type { Message, MessageReason } from './entities.js';
import type { LetterFacts } from './letter.js';
import { Lookups } from './lookups.js';
import { skinTestLacking } from './skin-test-lacking.js';

/** What a message is about, as it stands now; or why it is no longer to be sent. */
export type Standing =
  | {
      readonly appointment: Appointment | null;
      readonly facts: Partial<LetterFacts>;
      /** From then on it would help nobody. */
      readonly useUntil?: number;
    }
  | { readonly unneeded: 'withdrawn'; readonly reason: MessageReason }
  | { readonly failed: string; readonly reason: MessageReason };

const over = (reason: MessageReason = 'over'): Standing => ({ unneeded: 'withdrawn', reason });

/** Looks up what messages are about. */
@Injectable()
export class Standings {
  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly lookups: Lookups,
  ) {}

  async of(message: Message): Promise<Standing> {
    switch (message.kind) {
      case 'appointment-confirmation':
      case 'appointment-reminder':
      case 'appointment-change':
        return await this.ahead(message, 'booked');
      case 'appointment-cancellation':
        return await this.ahead(message, 'cancelled');
      case 'skin-test-needed':
        return await this.testNeeded(message);
      case 'skin-test-reading':
        return await this.testToRead(message);
      case 'shape-due':
        return await this.shape(message);
      case 'no-show': {
        const appointment = await this.appointmentOf(message);
        return appointment?.state === 'no-show' ? { appointment, facts: {} } : over();
      }
      case 'waiting-offer':
        return await this.offer(message, 'open');
      case 'waiting-gone':
        return await this.offer(message, 'gone');
    }
  }

  private async appointmentOf({ appointmentId }: Message): Promise<Appointment | undefined> {
    return appointmentId === null ? undefined : await this.lookups.appointment(appointmentId);
  }

  private async ahead(message: Message, state: 'booked' | 'cancelled'): Promise<Standing> {
    const appointment = await this.appointmentOf(message);
    if (appointment?.state !== state) return over(appointment?.state === 'cancelled' ? 'cancelled' : 'over');
    if (appointment.startsAt > this.clock.now()) return { appointment, facts: {} };
    return tooLate('The appointment began before this could be sent.', message);
  }

  private async testNeeded(message: Message): Promise<Standing> {
    const standing = await this.ahead(message, 'booked');
    if (!('appointment' in standing) || !standing.appointment) return standing;
    const { appointment } = standing;
    const now = this.clock.now();
    if (!(await skinTestLacking(this.reader.manager, appointment, now))) return over();
    const testBy = appointment.startsAt - SKIN_TEST_WAIT_MS;
    if (testBy <= now) return tooLate('Less than 48 hours were left before this could be sent.', message);
    return { appointment, facts: { testBy } };
  }

  private async testToRead({ aboutId }: Message): Promise<Standing> {
    const test = await this.reader.manager.findOneBy(SkinTest, { id: aboutId ?? '' });
    if (!test || test.result !== null) return over();
    return { appointment: null, facts: { startsAt: test.appliedAt + SKIN_TEST_WAIT_MS } };
  }

  private async offer(message: Message, state: 'open' | 'gone'): Promise<Standing> {
    const offer = await this.reader.manager.findOneBy(WaitingOffer, { id: message.aboutId ?? '' });
    if (offer?.state !== state) return over();
    const { staffId, serviceId, startsAt, endsAt, expiresAt } = offer;
    const useUntil = state === 'open' ? expiresAt : startsAt;
    if (useUntil <= this.clock.now()) {
      return state === 'open' ? tooLate('The offer ran out before this could be sent.', message) : over();
    }
    const [staff, service] = await Promise.all([
      this.lookups.staff(staffId),
      this.lookups.service(serviceId),
    ]);
    const facts = {
      serviceName: service?.name ?? '',
      stylistName: staff?.name ?? '',
      startsAt,
      endsAt,
      offerUntil: expiresAt,
    };
    return { appointment: null, facts, useUntil };
  }

  private async shape({ clientId, aboutId }: Message): Promise<Standing> {
    const window = await this.reader.manager.findOneBy(ShapeWindow, { clientId });
    if (!window || window.formulaId !== aboutId) return over();
    return { appointment: null, facts: { dueOn: window.dueOn, latestOn: window.latestOn } };
  }
}

function tooLate(words: string, { lastError }: Message): Standing {
  return { failed: lastError ? `${words} Last trouble: ${lastError}` : words, reason: 'too-late' };
}
