import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { PastVisits, Visit } from '../cuts/index.js';
import { Salons } from '../salon/index.js';
import { changedSince, nothingNew, remember, seenBefore, takeEach, takenBefore } from './about-client.js';
import { partiesOf } from './named-things.js';
import { readMoney } from './read-values.js';
import type { ImportRecord } from './records.js';
import { type RowCells, shown } from './row-cells.js';
import { digestOf } from './row-keys.js';
import type { Taken, Taker, Taking } from './taking.js';

const MOST_MINOR = 10_000_000;

function priceOf(row: RowCells, currency: string): number | undefined {
  const text = row.text('price');
  if (text === '') return undefined;
  const digits =
    new Intl.NumberFormat('en', { style: 'currency', currency }).resolvedOptions().maximumFractionDigits ?? 2;
  const price = readMoney(text, digits);
  return price !== undefined && price <= MOST_MINOR
    ? price
    : row.wrong('price', `${shown(text)} is no amount. Write it like ${(45).toFixed(digits)}.`);
}

/** Visits of the time before: who was here, when, for what, with whom, at what price. */
@Injectable()
export class TakeVisits implements Taker {
  readonly batchRows = 250;

  constructor(
    private readonly salons: Salons,
    private readonly past: PastVisits,
  ) {}

  async take(manager: EntityManager, records: readonly ImportRecord[], taking: Taking): Promise<Taken[]> {
    const { salon, settings } = taking;
    const [everybody, services] = await Promise.all([
      this.salons.staff(salon.id),
      this.salons.services(salon.id),
    ]);
    return await takeEach(manager, records, taking, async ({ row, record, client }) => {
      const visitOn = row.date('date');
      const { staff, service } = partiesOf(row, settings, everybody, services);
      const priceMinor = priceOf(row, salon.currency);
      const [notes, productLine] = [row.text('notes'), row.text('productLine')];
      if (row.text('date') === '') row.wrong('date', 'this row has no date. Write it like 2026-05-27.');
      row.requireNone();
      if (!service) row.wrong('service', 'this row names no service. Name one, or choose one for such rows.');
      if (!staff) row.wrong('stylist', 'this row names no stylist. Name one, or choose one for such rows.');
      row.requireNone();
      if (!visitOn || !service || !staff) throw new Error('A visit lacks what was just required.');
      const rowKey = digestOf(['visit', client.id, visitOn, service.id, staff.id]);
      const digest = digestOf([priceMinor ?? null, notes, productLine]);
      const before = await takenBefore(manager, 'visits', rowKey, taking);
      if (before) {
        const same = nothingNew(before, digest, record, taking);
        if (!same) throw changedSince('visit');
        return same;
      }
      const seen = seenBefore(rowKey, record, taking);
      if (seen) return seen;
      const ours = await manager.findOneBy(Visit, { clientId: client.id, visitOn, serviceId: service.id });
      if (ours) {
        await remember(
          manager,
          'visits',
          { clientId: client.id, subjectId: ours.id, rowKey, digest },
          record,
          taking,
        );
        return { outcome: 'same', words: 'This visit is on record already; ours is kept.' };
      }
      const line = productLine || undefined;
      const visit = await this.past.prepared(
        manager,
        salon,
        { clientId: client.id, staff, service, visitOn, priceMinor, notes, productLine: line },
        taking.now,
      );
      await this.past.store(manager, [visit]);
      await remember(
        manager,
        'visits',
        { clientId: client.id, subjectId: visit.id, rowKey, digest },
        record,
        taking,
      );
      return { outcome: 'new', words: `${service.name} on ${visitOn} with ${staff.name}.` };
    });
  }
}
