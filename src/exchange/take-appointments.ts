import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { DomainError, instantAt, isTime, validated } from '../base/index.js';
import { Appointment, Book, BookInput } from '../book/index.js';
import { Message } from '../reminders/index.js';
import { Salons, type Service, type Staff } from '../salon/index.js';
import {
  type AboutClient,
  changedSince,
  nothingNew,
  remember,
  seenBefore,
  takeEach,
  takenBefore,
} from './about-client.js';
import { partiesOf } from './named-things.js';
import { timeBehind } from './read-date.js';
import { readMinutes } from './read-values.js';
import type { ImportRecord } from './records.js';
import { type RowCells, shown } from './row-cells.js';
import { digestOf } from './row-keys.js';
import type { Taken, Taker, Taking } from './taking.js';

const MINUTE_MS = 60_000;
/** A year of two digits may lie ahead: the book goes so far. */
const YEARS_AHEAD = 2;

type When = { readonly date: string; readonly time: string };

/** Appointments to come. They go through the book's own checks; nobody is written to for having been taken over. */
@Injectable()
export class TakeAppointments implements Taker {
  readonly batchRows = 50;

  constructor(
    private readonly salons: Salons,
    private readonly book: Book,
  ) {}

  async take(manager: EntityManager, records: readonly ImportRecord[], taking: Taking): Promise<Taken[]> {
    const { id } = taking.salon;
    const [staff, services] = await Promise.all([this.salons.staff(id), this.salons.services(id)]);
    return await takeEach(manager, records, taking, (about) =>
      this.takeAppointment(manager, about, taking, { staff, services }),
    );
  }

  private async takeAppointment(
    manager: EntityManager,
    { row, record, client }: AboutClient,
    taking: Taking,
    all: { readonly staff: readonly Staff[]; readonly services: readonly Service[] },
  ): Promise<Omit<Taken, 'who'>> {
    const { salon, settings } = taking;
    const when = startOf(row, taking);
    const { staff, service } = partiesOf(row, settings, all.staff, all.services);
    const minutes = minutesOf(row, when, taking);
    row.requireNone();
    if (!service) row.wrong('service', 'this row names no service. Name one, or choose one for such rows.');
    if (!staff) row.wrong('stylist', 'this row names no stylist. Name one, or choose one for such rows.');
    row.requireNone();
    if (!when || !service || !staff) throw new Error('An appointment lacks what was just required.');
    const startsAt = instantAt(salon.zone, when.date, when.time);
    const booking = row.text('booking');
    const rowKey = booking
      ? digestOf(['booking', booking])
      : digestOf(['appointment', client.id, startsAt, service.id]);
    const digest = digestOf([client.id, startsAt, minutes ?? null, service.id, staff.id]);
    const before = await takenBefore(manager, 'appointments', rowKey, taking);
    if (before) {
      const same = nothingNew(before, digest, record, taking);
      if (!same) throw changedSince('appointment');
      return same;
    }
    const seen = seenBefore(rowKey, record, taking);
    if (seen) return seen;
    const memory = { clientId: client.id, rowKey, digest };
    const ours = await manager.findOneBy(Appointment, { clientId: client.id, startsAt, state: 'booked' });
    if (ours) {
      await remember(manager, 'appointments', { ...memory, subjectId: ours.id }, record, taking);
      return { outcome: 'same', words: 'She is booked for that time already; ours is kept.' };
    }
    const input = await validated(BookInput, {
      clientId: client.id,
      staffId: staff.id,
      serviceId: service.id,
      ...when,
      ...(minutes !== undefined && { minutes }),
      notes: row.text('notes').slice(0, 2000),
      ...(service.kind === 'colour' && { productLine: row.text('productLine') }),
      outsideRota: settings.outsideRota,
    });
    const made = await this.book.bookIn(manager, input, taking.actor);
    // She made this booking long ago, and has been told of it then.
    await manager.delete(Message, { appointmentId: made.id, kind: 'appointment-confirmation' });
    await remember(manager, 'appointments', { ...memory, subjectId: made.id }, record, taking);
    return { outcome: 'new', words: `${service.name}, ${when.date} ${when.time}, with ${staff.name}.` };
  }
}

function startOf(row: RowCells, taking: Taking): When | undefined {
  const latest = taking.reading.latestYear + YEARS_AHEAD;
  const both = row.text('start');
  if (both !== '') {
    const time = timeBehind(both) ?? row.time('time');
    const date = row.date('start', latest);
    if (date && !time) row.wrong('start', `${shown(both)} has no time. Write it like 2026-05-27 14:30.`);
    return date && time && isTime(time) ? { date, time } : undefined;
  }
  const [date, time] = [row.date('date', latest), row.time('time')];
  if (row.text('date') === '') row.wrong('date', 'this row has no date. Write it like 2026-05-27.');
  if (row.text('time') === '') row.wrong('time', 'this row has no time. Write it like 14:30.');
  return date && time ? { date, time } : undefined;
}

/** From the minutes, or from the end; undefined: as long as the service takes. */
function minutesOf(row: RowCells, when: When | undefined, { salon, reading }: Taking): number | undefined {
  const typed = row.text('minutes');
  if (typed !== '') {
    return (
      readMinutes(typed) ?? row.wrong('minutes', `${shown(typed)} is no length of time. Write it like 45.`)
    );
  }
  const end = row.text('end');
  if (end === '' || !when) return undefined;
  const time = timeBehind(end);
  const date = row.date('end', reading.latestYear + YEARS_AHEAD);
  if (!date) return undefined;
  if (!time) return row.wrong('end', `${shown(end)} has no time. Write it like 2026-05-27 15:15.`);
  const length = instantAt(salon.zone, date, time) - instantAt(salon.zone, when.date, when.time);
  if (length <= 0)
    throw DomainError.invalid('BOOK.ENDS_BEFORE_START', 'end', 'End: it must be later than the start.');
  return length / MINUTE_MS;
}
