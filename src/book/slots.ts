import { Injectable } from '@nestjs/common';
import { In } from 'typeorm';
import { addDays, Clock, DomainError, dateIn, daysBetween, validated } from '../base/index.js';
import { localDays, Resource, Salons, type Service, type Stretch, workingTime } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { combinedService, type Offered } from './combined-service.js';
import { SlotsInput } from './dto.js';
import { Claim } from './entities.js';
import { freeSlots, type HeldResources } from './free-slots.js';
import { fittedSteps, layOut, type Plan } from './layout.js';
import { missingSkills } from './parties.js';
import { rankSlots, whyOffered } from './rank-slots.js';
import { serviceFor } from './service-for.js';
import { FARTHEST_DAYS, LONGEST_MS } from './when.js';

/** A free time that may be booked as it stands. */
export type Slot = {
  readonly staffId: string;
  readonly staffName: string;
  readonly serviceId: string;
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
   * SLOTS.NO_SUCH_SERVICE, SLOTS.NO_SUCH_STYLIST, and BOOK.STEPS_TOO_SHORT for minutes that the service's steps need more
   * of.
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
    const service = serviceAsked(services, asked);
    const minutes = asked.minutes ?? service.minutes;
    const plan = { steps: fittedSteps(service.steps, minutes), resources: service.resources ?? null };
    const here = (await this.salons.staff(salon.id)).filter(
      ({ id, active, cutsHair }) => active && cutsHair && (!asked.staffId || id === asked.staffId),
    );
    if (asked.staffId && here.length === 0) {
      throw DomainError.invalid('SLOTS.NO_SUCH_STYLIST', 'staffId', 'Stylist: choose one who works here.');
    }
    const stylists = here.filter((stylist) => missingSkills(stylist, service).length === 0);

    const now = this.clock.now();
    const today = dateIn(salon.zone, now);
    const from = asked.fromDate > today ? asked.fromDate : today;
    const horizon = addDays(today, FARTHEST_DAYS);
    const to = asked.toDate < horizon ? asked.toDate : horizon;
    if (to < from || stylists.length === 0) return [];

    const dates = localDays(salon.zone, from, to);
    const ids = stylists.map(({ id }) => id);
    const work = await workingTime(this.reader.manager, salon.id, ids, dates);
    const span = { startsAt: dates[0]!.startsAt, endsAt: dates.at(-1)!.endsAt };
    const held = await this.held('staffId', ids, span);
    const free = freeSlots(
      ids.map((staffId) => ({
        staffId,
        stretches: work.get(staffId)!.stretches,
        held: held.get(staffId) ?? [],
      })),
      dates,
      {
        lengthMinutes: minutes,
        plan,
        shortestMinutes: Math.min(...services.map((other) => other.minutes)),
        notBefore: now,
      },
      await this.heldResources(salon.id, plan, span),
    );

    const wishes = {
      nearDate: asked.nearDate ?? undefined,
      windowFrom: asked.windowFrom ?? undefined,
      windowTo: asked.windowTo ?? undefined,
      dayParts: asked.dayParts ?? undefined,
      preferredStaffId: asked.preferredStaffId ?? undefined,
    };
    const names = new Map(stylists.map(({ id, name }) => [id, name]));
    return rankSlots(free, wishes)
      .slice(0, asked.limit ?? USUAL_LIMIT)
      .map((slot) => ({
        staffId: slot.staffId,
        staffName: names.get(slot.staffId)!,
        serviceId: service.id,
        startsAt: slot.startsAt,
        endsAt: slot.endsAt,
        date: slot.date,
        time: slot.time,
        why: whyOffered(slot, wishes),
      }));
  }

  /** What is held of every resource of the kinds the plan needs. */
  private async heldResources(salonId: string, plan: Plan, span: Stretch): Promise<HeldResources> {
    const kinds = new Set(layOut({ startsAt: 0, endsAt: 0 }, plan).needs.map(({ kind }) => kind));
    if (kinds.size === 0) return new Map();
    const resources = await this.reader.manager.findBy(Resource, {
      salonId,
      active: true,
      kind: In([...kinds]),
    });
    const ids = resources.map(({ id }) => id);
    const held = ids.length === 0 ? new Map() : await this.held('resourceId', ids, span);
    return new Map(
      [...kinds].map((kind) => [
        kind,
        resources.filter((resource) => resource.kind === kind).map(({ id }) => held.get(id) ?? []),
      ]),
    );
  }

  /** Raw rows: a search over months reads thousands of claims and needs three columns of each. */
  private async held(
    whose: 'staffId' | 'resourceId',
    ids: readonly string[],
    { startsAt: from, endsAt: to }: Stretch,
  ): Promise<Map<string, Stretch[]>> {
    const rows = await this.reader.manager
      .createQueryBuilder(Claim, 'claim')
      .select(`claim.${whose}`, 'id')
      .addSelect('claim.startsAt', 'startsAt')
      .addSelect('claim.endsAt', 'endsAt')
      .where(`claim.${whose} IN (:...ids)`, { ids })
      .andWhere('claim.startsAt > :since AND claim.startsAt < :to AND claim.endsAt > :from', {
        since: from - LONGEST_MS,
        from,
        to,
      })
      .orderBy('claim.startsAt', 'ASC')
      .getRawMany<{ id: string; startsAt: number | string; endsAt: number | string }>();
    const held = new Map<string, Stretch[]>();
    for (const { id, startsAt, endsAt } of rows) {
      const own = held.get(id) ?? [];
      // PostgreSQL hands bigint back as text.
      own.push({ startsAt: Number(startsAt), endsAt: Number(endsAt) });
      held.set(id, own);
    }
    return held;
  }
}

/** All services of the sitting as one. Throws SLOTS.NO_SUCH_SERVICE. */
function serviceAsked(
  services: readonly Service[],
  { serviceId, alsoServiceIds, zones }: SlotsInput,
): Offered {
  const service = serviceId
    ? services.find(({ id }) => id === serviceId)
    : zones && zones.length > 0 && serviceFor(services, zones);
  const also = (alsoServiceIds ?? []).map((also) => services.find(({ id }) => id === also));
  const sitting = [service || undefined, ...also].flatMap((one) => one ?? []);
  if (sitting.length === also.length + 1) return combinedService(sitting);
  throw DomainError.invalid(
    'SLOTS.NO_SUCH_SERVICE',
    'serviceId',
    'Service: choose one that is on offer, or the zones to be cut.',
  );
}
