import { Injectable } from '@nestjs/common';
import { type EntityManager, MoreThan } from 'typeorm';
import { addDays, Clock, DomainError, dateIn, instantAt, timeIn, validated } from '../base/index.js';
import { Appointment, Book, BookingSeries } from '../book/index.js';
import { Client } from '../clients/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import { loadForEdit, newId, Reader } from '../store/index.js';
import { SeriesChangeInput, SeriesInput, SeriesSkipInput } from './series-dto.js';

const SERIES = { code: 'SERIES', name: 'series' };

export type WholeSeries = {
  readonly series: BookingSeries;
  /** All that were booked with it, by start, whatever became of them. */
  readonly appointments: readonly Appointment[];
};

/**
 * A plan of visits booked ahead, changed and dropped as a whole: every one of these is one unit of work, so that either
 * all visits are there, or none.
 */
@Injectable()
export class Series {
  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly book: Book,
  ) {}

  /**
   * Books all visits; `input` is a SeriesInput. Throws INPUT.INVALID, CLIENT.NOT_FOUND, and what `Book.book` throws for
   * the first visit that cannot be had, its fields named "visits.<place>.<field>".
   */
  async add(input: unknown, actor: Actor): Promise<WholeSeries> {
    const { clientId, name, visits } = await validated(SeriesInput, input);
    return await this.book.change(async (manager) => {
      const client = await manager.findOneBy(Client, { id: clientId });
      if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
      const { salonId } = client;
      const series = manager.create(BookingSeries, {
        id: newId(),
        salonId,
        clientId,
        name,
        madeAt: this.clock.now(),
        madeById: actor.accountId,
      });
      await manager.save(series);
      await this.record(manager, actor, 'series.add', series.id, visits.length);
      const appointments: Appointment[] = [];
      for (const [place, { staffId, serviceIds, startsAt }] of visits.entries()) {
        const [serviceId = '', ...alsoServiceIds] = serviceIds;
        const wanted = { clientId, staffId, serviceId, alsoServiceIds, startsAt };
        const book = () => this.book.bookIn(manager, wanted, actor, series.id);
        appointments.push(await ofVisit(place, startsAt, book));
      }
      return { series, appointments };
    });
  }

  /** Throws SERIES.NOT_FOUND. */
  async get(seriesId: string): Promise<WholeSeries> {
    const found = await wholeSeries(this.reader.manager, seriesId);
    if (!found) throw DomainError.notFound('SERIES.NOT_FOUND', 'series');
    return found;
  }

  /** Of one client, the newest first, whatever became of them. */
  of(clientId: string): Promise<BookingSeries[]> {
    return this.reader.manager.find(BookingSeries, {
      where: { clientId },
      order: { madeAt: 'DESC', id: 'DESC' },
    });
  }

  /**
   * Moves the visits that are still ahead, all or one of them and what comes after it; `input` is a SeriesChangeInput.
   * What lies on one day keeps its distance on the clock. Throws INPUT.INVALID, SERIES.NOT_FOUND, SERIES.OVER when none is ahead, SERIES.NO_SUCH_VISIT, and what `Book.move` throws for
   * the first that cannot be had, saying which.
   */
  async change(seriesId: string, input: unknown, actor: Actor): Promise<WholeSeries> {
    const { staffId, shiftDays, time, fromId } = await validated(SeriesChangeInput, input);
    await this.book.change(async (manager) => {
      const { series, ahead } = await this.ahead(manager, seriesId, fromId);
      const { zone } = await manager.findOneByOrFail(Salon, { id: series.salonId });
      const firstOfDay = new Map<string, number>();
      const moves = ahead.map((appointment, place) => {
        const date = dateIn(zone, appointment.startsAt);
        const first = firstOfDay.get(date) ?? appointment.startsAt;
        firstOfDay.set(date, first);
        const from = time ?? timeIn(zone, first);
        const startsAt =
          instantAt(zone, addDays(date, shiftDays ?? 0), from) + (appointment.startsAt - first);
        return { appointment, place, startsAt };
      });
      // Whoever moves later goes last to first, so that no visit runs into the next one's old time.
      const later = (moves[0]?.startsAt ?? 0) > (ahead[0]?.startsAt ?? 0);
      for (const { appointment, place, startsAt } of later ? moves.reverse() : moves) {
        const wanted = {
          ...(staffId && { staffId }),
          ...(startsAt !== appointment.startsAt && { startsAt }),
        };
        await ofVisit(place, startsAt, () => this.book.moveIn(manager, appointment.id, wanted, actor));
      }
      await manager.save(series);
      await this.record(manager, actor, 'series.change', seriesId, moves.length);
    });
    return await this.get(seriesId);
  }

  /**
   * Leaves out one visit; the others stay. `input` is a SeriesSkipInput. Throws INPUT.INVALID, SERIES.NOT_FOUND,
   * BOOK.NOT_FOUND for a visit that is not of this series, and what `Book.cancel` throws.
   */
  async skip(seriesId: string, input: unknown, actor: Actor): Promise<Appointment> {
    const { appointmentId, expectedVersion } = await validated(SeriesSkipInput, input);
    const { appointments } = await this.get(seriesId);
    if (!appointments.some(({ id }) => id === appointmentId)) {
      throw DomainError.notFound('BOOK.NOT_FOUND', 'appointment');
    }
    return await this.book.cancel(appointmentId, { expectedVersion }, actor);
  }

  /** Cancels all visits that are still ahead. Throws SERIES.NOT_FOUND, SERIES.OVER when none is. */
  async drop(seriesId: string, actor: Actor): Promise<WholeSeries> {
    await this.book.change(async (manager) => {
      const { ahead } = await this.ahead(manager, seriesId);
      for (const { id } of ahead) await this.book.cancelIn(manager, id, actor);
      await this.record(manager, actor, 'series.drop', seriesId, ahead.length);
    });
    return await this.get(seriesId);
  }

  private async ahead(manager: EntityManager, seriesId: string, fromId?: string | null) {
    const series = await loadForEdit(manager, BookingSeries, seriesId, SERIES);
    const ahead = await manager.find(Appointment, {
      where: { seriesId, state: 'booked', startsAt: MoreThan(this.clock.now()) },
      order: { startsAt: 'ASC', id: 'ASC' },
    });
    if (ahead.length === 0) {
      throw new DomainError('refused', 'SERIES.OVER', 'Nothing of this series is still ahead.');
    }
    const first = fromId ? ahead.findIndex(({ id }) => id === fromId) : 0;
    if (first < 0) {
      const message = 'From: choose a visit of this series that is still ahead.';
      throw DomainError.invalid('SERIES.NO_SUCH_VISIT', 'fromId', message);
    }
    return { series, ahead: ahead.slice(first) };
  }

  private record(
    manager: EntityManager,
    actor: Actor,
    action: string,
    subjectId: string,
    visits: number,
  ): Promise<void> {
    return this.audit.record(manager, actor, {
      action,
      subjectKind: 'series',
      subjectId,
      details: { visits },
    });
  }
}

/** A series with all that was ever booked in it; undefined where there is none. */
export async function wholeSeries(
  manager: EntityManager,
  seriesId: string,
): Promise<WholeSeries | undefined> {
  const series = await manager.findOneBy(BookingSeries, { id: seriesId });
  if (!series) return undefined;
  const appointments = await manager.find(Appointment, {
    where: { seriesId },
    order: { startsAt: 'ASC', id: 'ASC' },
  });
  return { series, appointments };
}

/** Lets a refusal say which visit it is about: place from 0 in its fields, and its start. */
async function ofVisit<T>(place: number, startsAt: number, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof DomainError)) throw error;
    const { kind, code, message, details } = error;
    const fields = error.fields.map((problem) => ({ ...problem, field: `visits.${place}.${problem.field}` }));
    throw new DomainError(kind, code, `Visit ${place + 1}: ${message}`, fields, {
      ...details,
      visit: place,
      visitStartsAt: startsAt,
    });
  }
}
