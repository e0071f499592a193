import { Inject, Injectable } from '@nestjs/common';
import { type EntityManager, In, MoreThan } from 'typeorm';
import { Clock, DomainError, timeIn } from '../base/index.js';
import { Client } from '../clients/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon, Service, Staff } from '../salon/index.js';
import { Reader, SETTINGS, type Settings, UnitOfWork } from '../store/index.js';
import { appointmentFile, type CalendarEntry, feedFile } from './calendar-file.js';
import { Appointment } from './entities.js';
import { layOut } from './layout.js';
import { issueLink, openLink, PrivateLink } from './private-links.js';
import { namedSitting, sittingName } from './sitting-name.js';

const DAY_MS = 24 * 3_600_000;
/** What lies longer ago than this is not in a feed. */
const FEED_BACK_DAYS = 31;

/** Appointments for other calendars: a file each, and a private feed a stylist. */
@Injectable()
export class Calendars {
  private readonly domain: string;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    @Inject(SETTINGS) settings: Pick<Settings, 'publicUrl'>,
  ) {
    this.domain = new URL(settings.publicUrl).hostname;
  }

  /** The appointment for its client's calendar. Throws BOOK.NOT_FOUND. */
  async file(appointmentId: string): Promise<ReturnType<typeof appointmentFile>> {
    const { manager } = this.reader;
    const appointment = await manager.findOneBy(Appointment, { id: appointmentId });
    if (!appointment) throw DomainError.notFound('BOOK.NOT_FOUND', 'appointment');
    const salon = await manager.findOneByOrFail(Salon, { id: appointment.salonId });
    const name = await sittingName(manager, appointment);
    return appointmentFile(
      { appointment, summary: `${name}, ${salon.name}`, ...atSalon(salon) },
      this.made(),
    );
  }

  /**
   * A new secret for the stylist's feed; the one before no longer opens. Throws STAFF.NOT_FOUND.
   */
  async issueFeed(staffId: string, actor: Actor): Promise<string> {
    return await this.units.run(async (manager) => {
      await this.endFeedIn(manager, staffId, actor, 'calendar.issue');
      return await issueLink(manager, 'calendar', { staffId }, this.clock.now(), null);
    });
  }

  /** Since when the stylist's feed is open, in milliseconds since 1970 in UTC; undefined while it is not. */
  async feedSince(staffId: string): Promise<number | undefined> {
    const link = await this.reader.manager.findOneBy(PrivateLink, { staffId, kind: 'calendar' });
    return link?.issuedAt;
  }

  /** The stylist's feed opens no longer. Throws STAFF.NOT_FOUND. */
  async endFeed(staffId: string, actor: Actor): Promise<void> {
    await this.units.run((manager) => this.endFeedIn(manager, staffId, actor, 'calendar.end'));
  }

  /**
   * What a stylist's calendar program reads: her appointments from a month ago on, with the name to call each client by
   * and nothing else of them. Throws LINK.NOT_VALID, also once she has left.
   */
  async feed(token: unknown): Promise<string> {
    const { manager } = this.reader;
    const now = this.clock.now();
    const { staffId } = await openLink(manager, 'calendar', token, now);
    const staff = await manager.findOneByOrFail(Staff, { id: staffId ?? '' });
    if (!staff.active) throw new DomainError('not-found', 'LINK.NOT_VALID', 'This calendar is closed.');
    const salon = await manager.findOneByOrFail(Salon, { id: staff.salonId });
    const appointments = await manager.find(Appointment, {
      where: {
        staffId: staff.id,
        state: In(['booked', 'arrived', 'done']),
        startsAt: MoreThan(now - FEED_BACK_DAYS * DAY_MS),
      },
      order: { startsAt: 'ASC', id: 'ASC' },
    });
    const services = await manager.findBy(Service, { salonId: salon.id });
    const names = await clientNames(manager, staff.id, now - FEED_BACK_DAYS * DAY_MS);
    const entries = appointments.map((appointment): CalendarEntry => {
      const summary = `${namedSitting(appointment, services)}: ${names.get(appointment.clientId) ?? ''}`;
      const atWork = layOut(appointment, appointment).active.map(
        ({ startsAt, endsAt }) => `${timeIn(salon.zone, startsAt)}–${timeIn(salon.zone, endsAt)}`,
      );
      const description = atWork.length > 1 ? { description: `At work ${atWork.join(', ')}` } : {};
      return { appointment, summary, ...description, ...atSalon(salon) };
    });
    return feedFile(`${staff.name}, ${salon.name}`, entries, this.made());
  }

  private async endFeedIn(
    manager: EntityManager,
    staffId: string,
    actor: Actor,
    action: string,
  ): Promise<void> {
    if (!(await manager.existsBy(Staff, { id: staffId }))) {
      throw DomainError.notFound('STAFF.NOT_FOUND', 'member of staff');
    }
    await manager.delete(PrivateLink, { staffId, kind: 'calendar' });
    await this.audit.record(manager, actor, { action, subjectKind: 'staff', subjectId: staffId });
  }

  private made() {
    return { domain: this.domain, now: this.clock.now() };
  }
}

function atSalon({ name, email, address }: Salon): Pick<CalendarEntry, 'location' | 'organizer'> {
  return { location: address, organizer: { name, email } };
}

/** Names to call clients by, of those with appointments since then; joined, as a year's ids would be too many to list. */
async function clientNames(
  manager: EntityManager,
  staffId: string,
  since: number,
): Promise<Map<string, string>> {
  const rows = await manager
    .createQueryBuilder(Appointment, 'a')
    .innerJoin(Client, 'c', 'c.id = a.clientId')
    .where('a.staffId = :staffId AND a.startsAt > :since', { staffId, since })
    .select(['c.id AS "id"', 'COALESCE(c.knownAs, c.givenName) AS "name"'])
    .distinct(true)
    .getRawMany<{ id: string; name: string }>();
  return new Map(rows.map(({ id, name }) => [id, name]));
}
