import { Injectable } from '@nestjs/common';
import { addDays, Clock, DomainError, dateIn, daysBetween, validated } from '../base/index.js';
import { localDays, Salons, type Stretch, workingTime } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { SlotsInput } from './dto.js';
import { Claim } from './entities.js';
import { freeSlots } from './free-slots.js';
import { rankSlots, whyOffered } from './rank-slots.js';
import { FARTHEST_DAYS, LONGEST_MS } from './when.js';

/** A free time that may be booked as it stands. */
export type Slot = {
  readonly staffId: string;
  readonly staffName: string;
  readonly startsAt: number;
  readonly endsAt: number;
  /** Salon's local date and time of the start. */
  readonly date: string;
  readonly time: string;
  /** Why it is offered, in plain words. */
  readonly why: string;
};

const MOST_DAYS = 186;
const USUAL_LIMIT = 20;

@Injectable()
export class Slots {
  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly salons: Salons,
  ) {}

  /**
   * Free slots for a service between two days, both included, best first; `input` is a SlotsInput. Nothing in the past.
   * Throws INPUT.INVALID, SALON.NOT_FOUND, SLOTS.RANGE (days in the wrong order, or more than 186),
   * SLOTS.NO_SUCH_SERVICE and SLOTS.NO_SUCH_STYLIST.
   */
  async find(input: unknown): Promise<Slot[]> {
    const asked = await validated(SlotsInput, input);
    const days = daysBetween(asked.fromDate, asked.toDate);
    if (days < 0 || days >= MOST_DAYS) {
      const message = `To: give a day from ${asked.fromDate} on, at most ${MOST_DAYS} days in all.`;
      throw DomainError.invalid('SLOTS.RANGE', 'toDate', message);
    }
    const salon = await this.salons.get(asked.salonId);
    const services = (await this.salons.services(salon.id)).filter(({ active }) => active);
    const service = services.find(({ id }) => id === asked.serviceId);
    if (!service) {
      throw DomainError.invalid(
        'SLOTS.NO_SUCH_SERVICE',
        'serviceId',
        'Service: choose one that is on offer.',
      );
    }
    const stylists = (await this.salons.staff(salon.id)).filter(
      ({ id, active, cutsHair }) => active && cutsHair && (!asked.staffId || id === asked.staffId),
    );
    if (asked.staffId && stylists.length === 0) {
      throw DomainError.invalid('SLOTS.NO_SUCH_STYLIST', 'staffId', 'Stylist: choose one who works here.');
    }

    const now = this.clock.now();
    const today = dateIn(salon.zone, now);
    const from = asked.fromDate > today ? asked.fromDate : today;
    const horizon = addDays(today, FARTHEST_DAYS);
    const to = asked.toDate < horizon ? asked.toDate : horizon;
    if (to < from || stylists.length === 0) return [];

    const dates = localDays(salon.zone, from, to);
    const ids = stylists.map(({ id }) => id);
    const work = await workingTime(this.reader.manager, salon.id, ids, dates);
    const held = await this.held(ids, dates[0]!.startsAt, dates.at(-1)!.endsAt);
    const free = freeSlots(
      ids.map((staffId) => ({
        staffId,
        stretches: work.get(staffId)!.stretches,
        held: held.get(staffId) ?? [],
      })),
      dates,
      {
        lengthMinutes: asked.minutes ?? service.minutes,
        shortestMinutes: Math.min(...services.map(({ minutes }) => minutes)),
        notBefore: now,
      },
    );

    const wishes = {
      nearDate: asked.nearDate ?? undefined,
      preferredStaffId: asked.preferredStaffId ?? undefined,
    };
    const names = new Map(stylists.map(({ id, name }) => [id, name]));
    return rankSlots(free, wishes)
      .slice(0, asked.limit ?? USUAL_LIMIT)
      .map((slot) => ({
        staffId: slot.staffId,
        staffName: names.get(slot.staffId)!,
        startsAt: slot.startsAt,
        endsAt: slot.endsAt,
        date: slot.date,
        time: slot.time,
        why: whyOffered(slot, wishes),
      }));
  }

  /** Raw rows: a search over months reads thousands of claims and needs three columns of each. */
  private async held(staffIds: readonly string[], from: number, to: number): Promise<Map<string, Stretch[]>> {
    const rows = await this.reader.manager
      .createQueryBuilder(Claim, 'claim')
      .select('claim.staffId', 'staffId')
      .addSelect('claim.startsAt', 'startsAt')
      .addSelect('claim.endsAt', 'endsAt')
      .where('claim.staffId IN (:...staffIds)', { staffIds })
      .andWhere('claim.startsAt > :since AND claim.startsAt < :to AND claim.endsAt > :from', {
        since: from - LONGEST_MS,
        from,
        to,
      })
      .orderBy('claim.startsAt', 'ASC')
      .getRawMany<{ staffId: string; startsAt: number | string; endsAt: number | string }>();
    const held = new Map<string, Stretch[]>();
    for (const { staffId, startsAt, endsAt } of rows) {
      const own = held.get(staffId) ?? [];
      // PostgreSQL hands bigint back as text.
      own.push({ startsAt: Number(startsAt), endsAt: Number(endsAt) });
      held.set(staffId, own);
    }
    return held;
  }
}
