import { Injectable } from '@nestjs/common';
import { Clock, DomainError, dateIn, dateInWords, timeIn } from '../base/index.js';
import { type Call, problemOf, renderGuestPage } from '../http/index.js';
import { type Salon, Salons } from '../salon/index.js';
import type { Spoken } from './days.js';
import { phoneText } from './words.js';

/** A salon as a client's link tells of it. */
export type GuestSalon = Pick<Salon, 'name' | 'address' | 'phone' | 'zone' | 'locale'>;

export type GuestPage = Readonly<Record<string, unknown>> & {
  readonly heading: string;
  readonly salon: GuestSalon;
};

/** What all pages behind a client's private links have in common. */
@Injectable()
export class GuestRoom {
  constructor(
    private readonly salons: Salons,
    private readonly clock: Clock,
  ) {}

  /** Does `work`; a link that is unknown, used up or over gets a kind page with the salon's phone. */
  async receive(call: Call, work: () => Promise<void>): Promise<void> {
    try {
      await work();
    } catch (error) {
      if (!(error instanceof DomainError) || error.code !== 'LINK.NOT_VALID') throw error;
      const salon = await this.salons.only();
      await this.show(call.status(404), 'guest-over', {
        heading: 'This link no longer opens',
        salon,
      });
    }
  }

  /** Does `work`; what she can put right, or only the salon can, is told by `again` in plain words. */
  async attempt(
    call: Call,
    work: () => Promise<void>,
    again: (told: string) => Promise<void>,
  ): Promise<void> {
    try {
      await work();
    } catch (error) {
      const { status, detail, fields, code } = problemOf(error);
      if (code === 'LINK.NOT_VALID' || (status !== 409 && status !== 422)) throw error;
      void call.reply.status(status);
      await again(status === 422 && fields[0] ? fields[0].message : detail);
    }
  }

  async show(call: Call, name: string, page: GuestPage): Promise<void> {
    const { salon, ...data } = page;
    const host = { name: salon.name, address: salon.address, phone: salon.phone };
    await renderGuestPage(call, name, { ...data, host, phone: phoneText(salon.phone) });
  }

  spoken({ zone, locale }: GuestSalon): Spoken {
    return { locale, today: dateIn(zone, this.clock.now()) };
  }

  /** "Tuesday, 9 June 2026, 10:00" on the salon's clock. */
  moment(instant: number, { zone, locale }: GuestSalon): string {
    return `${dateInWords(dateIn(zone, instant), locale)}, ${timeIn(zone, instant)}`;
  }
}
