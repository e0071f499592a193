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

export type ProposedVisit = {
  readonly on: string;
  readonly kind: PlannedCut['kind'];
  readonly serviceIds: readonly string[];
  readonly serviceNames: readonly string[];
  /** A free start for all its services one after the other; null when there is none near the day. */
  readonly slot: Slot | null;
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
    for (const { on, kind, services: names, minutes } of planned.plan.cuts) {
      const wanted = names.flatMap((name) => services.find((service) => service.name === name) ?? []);
      const earliest = addDays(on, -EARLY_DAYS);
      const found = await this.slots.find({
        salonId: salon.id,
        serviceId: wanted[0]?.id,
        fromDate: earliest > today ? earliest : today,
        toDate: on,
        nearDate: on,
        ...(staffId && { preferredStaffId: staffId }),
        // One service after the other: a free stretch long enough for all of them.
        ...(wanted.length > 1 && { minutes }),
        limit: 1000,
      });
      visits.push({
        on,
        kind,
        serviceIds: wanted.map(({ id }) => id),
        serviceNames: names,
        slot: nearest(found, wish.time) ?? null,
      });
    }
    return { plan: planned.plan, visits };
  }
}

/** The best ranked at the time she likes, else the best ranked. */
function nearest(slots: readonly Slot[], time: string | null | undefined): Slot | undefined {
  return (time && slots.find((slot) => slot.time === time)) || slots[0];
}
