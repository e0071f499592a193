import { Injectable } from '@nestjs/common';
import { In } from 'typeorm';
import { type Appointment, WaitingList, WaitingOffers } from '../book/index.js';
import { Client } from '../clients/index.js';
import { Reader } from '../store/index.js';
import type { Setting } from './front.js';
import { matchRow, offerRow } from './waiting-view.js';
import { nameOf, phoneText } from './words.js';

/** As many as are rung before the time itself has come. */
const MATCHES_SHOWN = 6;
const OFFERED_AT_ONCE = 3;

/** What a cancellation leaves behind: who waits and could have the time, and to whom it was offered. */
@Injectable()
export class FreedTimes {
  constructor(
    private readonly reader: Reader,
    private readonly list: WaitingList,
    private readonly offers: WaitingOffers,
  ) {}

  /** Undefined unless the appointment gave its time free and that time is still ahead. */
  async of(appointment: Appointment, setting: Setting) {
    const { state, startsAt, salonId } = appointment;
    const freed = (state === 'cancelled' || state === 'no-show') && startsAt > setting.now;
    if (!freed || salonId !== setting.salon.id) return undefined;
    const matches = (await this.list.matchesOf(appointment.id)).slice(0, MATCHES_SHOWN);
    const offers = await this.offers.ofTime(salonId, appointment);
    const clients = await this.reader.manager.findBy(Client, {
      id: In([...matches.map(({ entry }) => entry.clientId), ...offers.map(({ clientId }) => clientId)]),
    });
    const of = (clientId: string) => clients.find(({ id }) => id === clientId);
    const offered = new Set(
      offers
        .filter((offer) => offer.state === 'open' && offer.expiresAt > setting.now)
        .map(({ entryId }) => entryId),
    );
    const rows = matches.map((match) => {
      const phone = of(match.entry.clientId)?.phone;
      return {
        ...matchRow(match, phone ? phoneText(phone) : '', setting),
        phone,
        offered: offered.has(match.entry.id),
      };
    });
    const best = rows.filter((row) => !row.offered).slice(0, OFFERED_AT_ONCE);
    return {
      matches: rows,
      best: best.length > 1 && {
        count: best.length,
        entryIds: best.map(({ entryId }) => entryId).join(','),
      },
      offers: offers.map((offer) => {
        const client = of(offer.clientId);
        return offerRow(offer, client ? nameOf(client) : '', setting);
      }),
    };
  }
}
