import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { LONGEST_MM, PastVisits, Visit, ZoneLength } from '../cuts/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import { Salons } from '../salon/index.js';
import { changedSince, nothingNew, remember, seenBefore, takeEach, takenBefore } from './about-client.js';
import { ImportedRow } from './entities.js';
import { lengthCell, partiesOf } from './named-things.js';
import { readZone } from './read-values.js';
import type { ImportRecord } from './records.js';
import { type RowCells, shown } from './row-cells.js';
import { digestOf } from './row-keys.js';
import type { ImportSettings } from './settings.js';
import type { Taken, Taker, Taking } from './taking.js';

type LeftAt = { readonly zone: Zone; readonly leftMm: number };

function bounded(row: RowCells, key: string, settings: ImportSettings): number | undefined {
  const mm = lengthCell(row, key, settings.units);
  return mm === undefined || (mm >= 0 && mm <= LONGEST_MM)
    ? mm
    : row.wrong(key, `${shown(row.text(key))} is longer than any hair. Check the number and its unit.`);
}

/** The lengths of a row: a column a zone, or a zone a row. */
function lengthsOf(row: RowCells, settings: ImportSettings): LeftAt[] {
  const wide = ZONES.flatMap((zone): LeftAt[] => {
    const leftMm = bounded(row, `zone.${zone}`, settings);
    return leftMm === undefined ? [] : [{ zone, leftMm }];
  });
  const typedZone = row.text('zone');
  if (typedZone === '') return wide;
  const zone = readZone(typedZone);
  if (!zone) {
    row.wrong('zone', `${shown(typedZone)} is no zone. Write one of: ${ZONES.join(', ')}.`);
    return wide;
  }
  const leftMm = bounded(row, 'length', settings);
  if (leftMm === undefined) {
    if (row.text('length') === '')
      row.wrong('length', 'a zone is named, but no length. Write it like 5.2 cm.');
    return wide;
  }
  return [...wide.filter((length) => length.zone !== zone), { zone, leftMm }];
}

/** Lengths that earlier cuts left, zone by zone; joined to the visit of their day, which is made where there is none. */
@Injectable()
export class TakeLengths implements Taker {
  readonly batchRows = 100;

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
      const cutOn = row.date('date');
      const lengths = lengthsOf(row, settings);
      const { staff, service } = partiesOf(row, settings, everybody, services);
      if (row.text('date') === '') row.wrong('date', 'this row has no date. Write it like 2026-05-27.');
      row.requireNone();
      if (!cutOn) throw new Error('A cut lacks the day that was just required.');
      if (lengths.length === 0) {
        row.wrong('length', 'this row holds no length. Give at least one zone its length.');
        row.requireNone();
      }
      const rowKey = digestOf(['lengths', client.id, cutOn, row.text('zone') === '' ? '' : lengths[0]?.zone]);
      const digest = digestOf([lengths]);
      const before = await takenBefore(manager, 'lengths', rowKey, taking);
      if (before) {
        const same = nothingNew(before, digest, record, taking);
        if (!same) throw changedSince('cut');
        return same;
      }
      const seen = seenBefore(rowKey, record, taking);
      if (seen) return seen;
      const visits = await manager.findBy(Visit, { clientId: client.id, visitOn: cutOn });
      let visit = visits.find(({ formulaId }) => formulaId === null) ?? visits[0];
      if (!visit) {
        if (!service || !staff) {
          row.wrong(
            'date',
            `there is no visit on ${cutOn}. Import the visits first, or choose a service and a stylist for such rows.`,
          );
          row.requireNone();
        }
        if (!service || !staff) throw new Error('A visit lacks what was just required.');
        const given = { priceMinor: 0, notes: '', productLine: undefined };
        visit = await this.past.prepared(
          manager,
          salon,
          { clientId: client.id, staff, service, visitOn: cutOn, ...given },
          taking.now,
        );
        await this.past.store(manager, [visit]);
      }
      const formulaId = await this.written(manager, row, visit, lengths);
      await remember(
        manager,
        'lengths',
        { clientId: client.id, subjectId: formulaId, rowKey, digest },
        record,
        taking,
      );
      const zones = lengths.map(({ zone }) => zone).join(', ');
      return { outcome: 'new', words: `Lengths left on ${cutOn} at ${zones}.` };
    });
  }

  /** A new cut, or further zones of one that this kind of sheet brought before. */
  private async written(
    manager: EntityManager,
    row: RowCells,
    visit: Visit,
    lengths: readonly LeftAt[],
  ): Promise<string> {
    const { formulaId, visitOn } = visit;
    const ours =
      formulaId !== null &&
      (await manager.existsBy(ImportedRow, {
        subjectId: formulaId,
        kind: 'lengths',
        clientId: visit.clientId,
      }));
    if (formulaId === null || !ours) {
      const name = row.text('shape') || 'Imported lengths';
      return await this.past.storeLengths(manager, { visit, name, notes: row.text('notes'), lengths });
    }
    const known = new Set((await manager.findBy(ZoneLength, { formulaId })).map(({ zone }) => zone));
    for (const length of lengths) {
      if (known.has(length.zone)) throw changedSince('cut');
      await this.past.addLength(manager, formulaId, visitOn, length);
    }
    return formulaId;
  }
}
