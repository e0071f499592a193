import { Injectable } from '@nestjs/common';
import { In, Not } from 'typeorm';
import { DomainError, timeIn } from '../base/index.js';
import { Client } from '../clients/index.js';
import {
  Resource,
  type ResourceKind,
  Salon,
  Service,
  type ServiceStep,
  Staff,
  type Stretch,
} from '../salon/index.js';
import { Reader } from '../store/index.js';
import { overlapping, RESOURCE_WORDS } from './claims.js';
import { Appointment, Claim } from './entities.js';
import { fittedSteps, layOut } from './layout.js';
import { sittingName } from './sitting-name.js';

const MINUTE_MS = 60_000;

/** A time that somebody wants, for a new appointment or for one there is. */
export type Wish = Stretch & {
  readonly salonId: string;
  readonly clientId: string;
  readonly staffId: string;
  readonly serviceId: string;
  /** Of an appointment that is to be moved. */
  readonly appointmentId?: string;
  readonly steps?: readonly ServiceStep[] | null;
  readonly resources?: readonly ResourceKind[] | null;
};

/** An appointment that stands in the way of a wish. */
export type Obstacle = {
  readonly id: string;
  readonly clientName: string;
  readonly serviceName: string;
  readonly staffName: string;
  readonly startTime: string;
  readonly endTime: string;
  /** What it holds that is wanted: the stylist, a kind of resource, or the client herself. */
  readonly holds: string;
};

/** Says whose appointments are in the way; for those who may read the book, never for a client. */
@Injectable()
export class Obstacles {
  constructor(private readonly reader: Reader) {}

  /** In order of time; empty when nothing is, or when what is wanted cannot be laid out at all. */
  async of(wish: Wish): Promise<Obstacle[]> {
    const { manager } = this.reader;
    const service = await manager.findOneBy(Service, { id: wish.serviceId });
    if (!service) return [];
    const minutes = (wish.endsAt - wish.startsAt) / MINUTE_MS;
    const steps = stepsFor(wish.steps ?? service.steps, minutes);
    if (steps === undefined) return [];
    const { active, needs } = layOut(wish, { steps, resources: wish.resources ?? service.resources ?? null });
    const holders = new Map<string, string>();
    const others = wish.appointmentId ? { appointmentId: Not(wish.appointmentId) } : {};
    for (const stretch of active) {
      const claims = await manager.findBy(Claim, {
        staffId: wish.staffId,
        ...others,
        ...overlapping(stretch),
      });
      for (const { appointmentId } of claims) holders.set(appointmentId, 'the stylist');
    }
    for (const need of needs) {
      const all = await manager.findBy(Resource, { salonId: wish.salonId, kind: need.kind, active: true });
      const held = await manager.findBy(Claim, {
        resourceId: In(all.map(({ id }) => id)),
        ...others,
        ...overlapping(need),
      });
      if (new Set(held.map(({ resourceId }) => resourceId)).size < all.length) continue;
      for (const { appointmentId } of held) {
        if (!holders.has(appointmentId)) holders.set(appointmentId, `a ${RESOURCE_WORDS[need.kind]}`);
      }
    }
    const own = await manager.findBy(Appointment, {
      clientId: wish.clientId,
      state: In(['booked', 'arrived', 'done']),
      ...(wish.appointmentId && { id: Not(wish.appointmentId) }),
      ...overlapping(wish),
    });
    for (const { id } of own) holders.set(id, 'the client');
    return await this.described(holders);
  }

  private async described(holders: ReadonlyMap<string, string>): Promise<Obstacle[]> {
    const { manager } = this.reader;
    const found = await manager.find(Appointment, {
      where: { id: In([...holders.keys()]) },
      order: { startsAt: 'ASC', id: 'ASC' },
    });
    return await Promise.all(
      found.map(async (appointment) => {
        const { id, clientId, staffId, salonId, startsAt, endsAt } = appointment;
        const [client, serviceName, staff, salon] = await Promise.all([
          manager.findOneByOrFail(Client, { id: clientId }),
          sittingName(manager, appointment),
          manager.findOneByOrFail(Staff, { id: staffId }),
          manager.findOneByOrFail(Salon, { id: salonId }),
        ]);
        return {
          id,
          clientName: `${client.knownAs ?? client.givenName} ${client.familyName}`.trim(),
          serviceName,
          staffName: staff.name,
          startTime: timeIn(salon.zone, startsAt),
          endTime: timeIn(salon.zone, endsAt),
          holds: holders.get(id) ?? '',
        };
      }),
    );
  }
}

function stepsFor(steps: readonly ServiceStep[] | null | undefined, minutes: number) {
  try {
    return fittedSteps(steps, minutes);
  } catch (error) {
    if (error instanceof DomainError) return undefined;
    throw error;
  }
}
