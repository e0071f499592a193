import { type EntityManager, In } from 'typeorm';
import { DomainError, isDate, timeIn } from '../base/index.js';
import { Client } from '../clients/index.js';
import {
  localDays,
  Resource,
  type Salon,
  Service,
  type ServiceKind,
  Staff,
  workingTime,
} from '../salon/index.js';
import { Appointment, type AppointmentState, Claim } from './entities.js';
import { layOut } from './layout.js';
import { namedSitting } from './sitting-name.js';

/** A stretch of the day with its local times 'HH:MM'. */
type TimedStretch = {
  readonly startsAt: number;
  readonly endsAt: number;
  readonly startTime: string;
  readonly endTime: string;
};

export type DayAppointment = TimedStretch & {
  readonly id: string;
  readonly version: number;
  readonly state: AppointmentState;
  readonly clientId: string;
  readonly clientName: string;
  readonly serviceId: string;
  readonly serviceName: string;
  readonly serviceKind: ServiceKind;
  readonly notes: string;
};

/** What it holds besides its place in the day. */
export type LaidOutAppointment = DayAppointment & {
  /** When the stylist is at work on it; between these stretches others may be served. */
  readonly active: readonly TimedStretch[];
  /** Names of the chairs, basins and rooms it holds, in order of time. */
  readonly resources: readonly string[];
  readonly confirmed: boolean;
  /** Since when the client has been here, and in the chair; null while she is not, or where nobody noted it. */
  readonly arrivedAt: number | null;
  readonly seatedAt: number | null;
  /** Booked ahead as part of a series. */
  readonly seriesId: string | null;
};

export type DayColumn = {
  readonly staffId: string;
  readonly staffName: string;
  /** When she works; empty on a day off. */
  readonly working: readonly TimedStretch[];
  /** Why she does not, when a closure says so. */
  readonly away: string | null;
  /** Those that hold time, and no-shows, by start. */
  readonly appointments: readonly LaidOutAppointment[];
  readonly cancelled: readonly LaidOutAppointment[];
};

export type BookDay = {
  readonly salonId: string;
  readonly zone: string;
  readonly date: string;
  /** Bounds of the local day; 23 or 25 hours apart when the clock changes. */
  readonly startsAt: number;
  readonly endsAt: number;
  /** Why the whole salon is closed, or null. */
  readonly closed: string | null;
  /** Everybody who cuts hair now, and whoever has an appointment on the day. */
  readonly columns: readonly DayColumn[];
};

type Names = {
  readonly clients: ReadonlyMap<string, Pick<Client, 'givenName' | 'familyName' | 'knownAs'>>;
  readonly services: ReadonlyMap<string, Service>;
  /** By appointment. */
  readonly resources: ReadonlyMap<string, readonly string[]>;
};

const byId = <T extends { id: string }>(rows: readonly T[]) => new Map(rows.map((row) => [row.id, row]));

/** One day of a salon's book, in nine queries. Throws BOOK.DATE_INVALID. */
export async function readDay(manager: EntityManager, salon: Salon, date: string): Promise<BookDay> {
  if (!isDate(date)) {
    const message = 'Date: give it as year, month and day, such as 2026-06-09.';
    throw DomainError.invalid('BOOK.DATE_INVALID', 'date', message);
  }
  const days = localDays(salon.zone, date, date);
  const { startsAt, endsAt } = days[0]!;
  const appointments = await manager
    .createQueryBuilder(Appointment, 'appointment')
    .where('appointment.salonId = :salonId', { salonId: salon.id })
    .andWhere('appointment.startsAt >= :startsAt AND appointment.startsAt < :endsAt', { startsAt, endsAt })
    .orderBy('appointment.startsAt', 'ASC')
    .addOrderBy('appointment.id', 'ASC')
    .getMany();
  const staff = (
    await manager.find(Staff, { where: { salonId: salon.id }, order: { name: 'ASC', id: 'ASC' } })
  ).filter(
    ({ id, active, cutsHair }) => (active && cutsHair) || appointments.some(({ staffId }) => staffId === id),
  );
  const names: Names = {
    clients: byId(
      await manager.find(Client, {
        select: { id: true, givenName: true, familyName: true, knownAs: true },
        where: { id: In([...new Set(appointments.map(({ clientId }) => clientId))]) },
      }),
    ),
    services: byId(await manager.findBy(Service, { salonId: salon.id })),
    resources: await resourceNames(
      manager,
      appointments.map(({ id }) => id),
    ),
  };
  const work = await workingTime(
    manager,
    salon.id,
    staff.map(({ id }) => id),
    days,
  );
  const closures = [...work.values()].flatMap((of) => of.closures);
  return {
    salonId: salon.id,
    zone: salon.zone,
    date,
    startsAt,
    endsAt,
    closed: closures.find(({ staffId }) => staffId === null)?.reason ?? null,
    columns: staff.map(({ id, name }) => {
      const own = appointments
        .filter(({ staffId }) => staffId === id)
        .map((appointment) => described(appointment, names, salon.zone));
      const { stretches, closures: away } = work.get(id)!;
      return {
        staffId: id,
        staffName: name,
        working: stretches.map((stretch) => timed(stretch, salon.zone)),
        away: away[0]?.reason ?? null,
        appointments: own.filter(({ state }) => state !== 'cancelled'),
        cancelled: own.filter(({ state }) => state === 'cancelled'),
      };
    }),
  };
}

async function resourceNames(manager: EntityManager, ids: readonly string[]): Promise<Map<string, string[]>> {
  const held = await manager
    .createQueryBuilder(Claim, 'claim')
    .innerJoin(Resource, 'resource', 'resource.id = claim.resourceId')
    .select('claim.appointmentId', 'appointmentId')
    .addSelect('resource.name', 'name')
    .where({ appointmentId: In([...ids]) })
    .orderBy('claim.startsAt', 'ASC')
    .addOrderBy('resource.name', 'ASC')
    .getRawMany<{ appointmentId: string; name: string }>();
  const names = new Map<string, string[]>();
  for (const { appointmentId, name } of held) {
    names.set(appointmentId, [...(names.get(appointmentId) ?? []), name]);
  }
  return names;
}

function timed({ startsAt, endsAt }: Pick<Appointment, 'startsAt' | 'endsAt'>, zone: string): TimedStretch {
  return { startsAt, endsAt, startTime: timeIn(zone, startsAt), endTime: timeIn(zone, endsAt) };
}

function described(appointment: Appointment, names: Names, zone: string): LaidOutAppointment {
  const { id, version, state, clientId, serviceId, notes } = appointment;
  const client = names.clients.get(clientId)!;
  const service = names.services.get(serviceId)!;
  return {
    id,
    version,
    state,
    clientId,
    clientName: `${client.knownAs ?? client.givenName} ${client.familyName}`.trim(),
    serviceId,
    serviceName: namedSitting(appointment, names.services.values()),
    serviceKind: service.kind,
    notes,
    active: layOut(appointment, appointment).active.map((stretch) => timed(stretch, zone)),
    resources: names.resources.get(id) ?? [],
    confirmed: typeof appointment.confirmedAt === 'number',
    seriesId: appointment.seriesId ?? null,
    arrivedAt: appointment.arrivedAt ?? null,
    seatedAt: appointment.seatedAt ?? null,
    ...timed(appointment, zone),
  };
}
