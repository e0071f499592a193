import type {
  EntitySubscriberInterface,
  InsertEvent,
  RemoveEvent,
  TransactionRollbackEvent,
  UpdateEvent,
} from 'typeorm';
import { Client } from '../clients/index.js';
import {
  Closure,
  OpeningHours,
  Resource,
  RotaChange,
  RotaEntry,
  Salon,
  Service,
  Staff,
  type Stretch,
} from '../salon/index.js';
import type { UnitOfWork } from '../store/index.js';
import type { BookNews } from './book-news.js';
import { Appointment } from './entities.js';

/** What else than appointments a day's page shows; a change of one may show on any day. */
const SHOWN: ReadonlySet<unknown> = new Set([
  Client,
  Closure,
  OpeningHours,
  Resource,
  RotaChange,
  RotaEntry,
  Salon,
  Service,
  Staff,
]);

/** More stretches than this in one unit (a series, an import) are told as "perhaps anywhere". */
const MOST_STRETCHES = 50;

type Seen = { salonId: string | null | undefined; stretches: Stretch[] | null };

/**
 * Tells of every committed unit of work that changed what the book shows, whichever room wrote it, and never of one
 * that was rolled back.
 */
export class BookWatch implements EntitySubscriberInterface {
  private readonly seen = new WeakMap<object, Seen>();

  private constructor(
    private readonly units: UnitOfWork,
    private readonly tell: (news: BookNews) => void,
  ) {}

  /** Watches the one connection that writes. */
  static async on(units: UnitOfWork, tell: (news: BookNews) => void): Promise<void> {
    const watch = new BookWatch(units, tell);
    await units.run(async (manager) => {
      manager.connection.subscribers.push(watch);
    });
  }

  afterInsert({ metadata, entity, queryRunner }: InsertEvent<object>): void {
    this.note(queryRunner, metadata.target, [entity]);
  }

  afterUpdate({ metadata, entity, databaseEntity, queryRunner }: UpdateEvent<object>): void {
    this.note(queryRunner, metadata.target, [databaseEntity, entity]);
  }

  afterRemove({ metadata, entity, databaseEntity, queryRunner }: RemoveEvent<object>): void {
    this.note(queryRunner, metadata.target, [databaseEntity ?? entity]);
  }

  /** The connection outlives the unit: what was seen of one that is undone must not stand for the next. */
  afterTransactionRollback({ queryRunner }: TransactionRollbackEvent): void {
    this.seen.delete(queryRunner);
  }

  /** `rows` is what was and what is; a row that was written by its key alone is not known here. */
  private note(unit: object, target: unknown, rows: readonly (object | undefined)[]): void {
    const isAppointment = target === Appointment;
    if (!isAppointment && !SHOWN.has(target)) return;
    let seen = this.seen.get(unit);
    if (!seen) {
      const news: Seen = { salonId: undefined, stretches: [] };
      this.seen.set(unit, news);
      this.units.afterCommit(() => {
        this.seen.delete(unit);
        const tooMany = (news.stretches?.length ?? 0) > MOST_STRETCHES;
        this.tell({ salonId: news.salonId ?? null, stretches: tooMany ? null : news.stretches });
      });
      seen = news;
    }
    for (const row of rows) {
      const { salonId, startsAt, endsAt } = (row ?? {}) as Partial<Appointment>;
      seen.salonId = salonId === undefined || (seen.salonId ?? salonId) !== salonId ? null : salonId;
      const isKnown = isAppointment && typeof startsAt === 'number' && typeof endsAt === 'number';
      if (isKnown) seen.stretches?.push({ startsAt, endsAt });
      else seen.stretches = null;
    }
  }
}
