import { Injectable } from '@nestjs/common';
import { addDays, Clock, DomainError, dateIn, validated } from '../base/index.js';
import { type Slot, Slots } from '../book/index.js';
import { Client } from '../clients/index.js';
import type { PlannedCut, TidiesPlan } from '../engine/plan/index.js';
import { Salon, Service } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { SeriesWishInput } from './series-dto.js';
import { TidyPlans } from './tidy-plans.js';

/** A planned day may be missed by this much before another must be found: two days early, none late. */
const EARLY_DAYS = 2;
/** Where nothing fits, other days are looked at this far around. */
const AROUND_DAYS = 10;
const ALTERNATIVES = 5;

export type ProposedVisit = {
  readonly on: string;
  readonly kind: PlannedCut['kind'];
  readonly serviceIds: readonly string[];
  readonly serviceNames: readonly string[];
  /** A free start for all its services in one sitting; null when there is none near the day. */
  readonly slot: Slot | null;
  /** Other free starts, different half-days first; around the day, when there is none near it. */
  readonly alternatives: readonly Slot[];
};

export type SeriesProposal =
  | { readonly plan: TidiesPlan; readonly visits: readonly ProposedVisit[] }
  | { readonly refused: string };

/** The plan of tidies and full cuts with a free time for every visit, to be booked as a series. */
@Injectable()
export class SeriesProposals {
  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly plans: TidyPlans,
    private readonly slots: Slots,
  ) {}

  /** `input` is a SeriesWishInput. Throws INPUT.INVALID, CLIENT.NOT_FOUND; says in words why there is no plan. */
  async of(clientId: string, input: unknown): Promise<SeriesProposal> {
    const wish = await validated(SeriesWishInput, input ?? {});
    const { manager } = this.reader;
    const client = await manager.findOneBy(Client, { id: clientId });
    if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
    const salon = await manager.findOneByOrFail(Salon, { id: client.salonId });
    const today = dateIn(salon.zone, this.clock.now());
    const planned = await this.plans.of(manager, clientId, today, wish.wish ?? 'price');
    if ('refused' in planned) return planned;
    const services = await manager.findBy(Service, { salonId: salon.id, active: true });
    const staffId = wish.staffId ?? planned.staffId;
    const visits: ProposedVisit[] = [];
    for (const { on, kind, services: names } of planned.plan.cuts) {
      const wanted = names.flatMap((name) => services.find((service) => service.name === name) ?? []);
      const [first, ...others] = wanted;
      const between = async (from: string, to: string) =>
        await this.slots.find({
          salonId: salon.id,
          serviceId: first?.id,
          alsoServiceIds: others.map(({ id }) => id),
          fromDate: from > today ? from : today,
          toDate: to,
          nearDate: on,
          ...(staffId && { preferredStaffId: staffId }),
          limit: 1000,
        });
      const near = await between(addDays(on, -EARLY_DAYS), on);
      const slot = nearest(near, wish.time) ?? null;
      const around = slot ? near : await between(addDays(on, -AROUND_DAYS), addDays(on, AROUND_DAYS));
      visits.push({
        on,
        kind,
        serviceIds: wanted.map(({ id }) => id),
        serviceNames: names,
        slot,
        alternatives: spread(around, slot).slice(0, ALTERNATIVES),
      });
    }
    return { plan: planned.plan, visits };
  }
}

/** The best ranked at the time she likes, else the best ranked. */
function nearest(slots: readonly Slot[], time: string | null | undefined): Slot | undefined {
  return (time && slots.find((slot) => slot.time === time)) || slots[0];
}

/** The first of each stylist's half-days, as they are ranked, but for the one that is proposed. */
function spread(slots: readonly Slot[], proposed: Slot | null): Slot[] {
  const seen = new Set<string>();
  return slots.filter((slot) => {
    const halfDay = `${slot.staffId} ${slot.date} ${slot.time < '12:00'}`;
    if (slot === proposed || seen.has(halfDay)) return false;
    seen.add(halfDay);
    return true;
  });
}
