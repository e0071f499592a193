import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { dateIn } from '../base/index.js';
import { OutsideTests, SkinTest, sameProductLine } from '../skin-tests/index.js';
import {
  type AboutClient,
  changedSince,
  nothingNew,
  remember,
  seenBefore,
  takeEach,
  takenBefore,
} from './about-client.js';
import { readResult } from './read-values.js';
import type { ImportRecord } from './records.js';
import { type RowCells, shown } from './row-cells.js';
import { digestOf } from './row-keys.js';
import type { Taken, Taker, Taking } from './taking.js';

const FEWEST_DAYS = 2;
const MOST_DAYS = 3650;

function makerDays(row: RowCells): number | undefined {
  const text = row.text('makerValidDays');
  if (text === '') return undefined;
  const days = /^\d{1,4}$/.test(text) ? Number(text) : Number.NaN;
  if (days >= FEWEST_DAYS && days <= MOST_DAYS) return days;
  return row.wrong(
    'makerValidDays',
    `${shown(text)} must be whole days from ${FEWEST_DAYS} to ${MOST_DAYS}.`,
  );
}

/**
 * Skin tests of other records. A clear result counts only with its date, its product line and a reading that shows the
 * 48 hours; a reaction is kept however little is known of it.
 */
@Injectable()
export class TakeSkinTests implements Taker {
  readonly batchRows = 100;

  constructor(private readonly outside: OutsideTests) {}

  take(manager: EntityManager, records: readonly ImportRecord[], taking: Taking): Promise<Taken[]> {
    return takeEach(manager, records, taking, (about) => this.takeTest(manager, about, taking));
  }

  private async takeTest(
    manager: EntityManager,
    about: AboutClient,
    taking: Taking,
  ): Promise<Omit<Taken, 'who'>> {
    const { row, record, client } = about;
    const typed = row.text('result');
    const result = readResult(typed);
    const productLine = row.text('productLine');
    if (!result) {
      row.wrong(
        'result',
        typed === ''
          ? 'this row has no result. Write clear or reacted; a test without one is applied anew.'
          : `${shown(typed)} is no result. Write clear or reacted.`,
      );
    }
    if (result === 'reacted' && (row.text('appliedOn') === '' || productLine === '')) {
      return await this.takeReaction(manager, about, taking);
    }
    if (row.text('appliedOn') === '')
      row.wrong('appliedOn', 'this row has no date of applying. Write it like 2026-05-27.');
    if (productLine === '')
      row.wrong('productLine', 'this row names no product line. A test of one says nothing about another.');
    const appliedOn = row.date('appliedOn');
    const read = { on: row.date('readOn'), time: row.time('readTime') };
    const appliedTime = row.time('appliedTime');
    const makerValidDays = makerDays(row);
    row.requireNone();
    if (!result || !appliedOn) throw new Error('A skin test lacks what was just required.');
    const [place, seen] = [row.text('place'), row.text('seen')];
    const rowKey = digestOf([
      'skin-test',
      client.id,
      appliedOn,
      productLine.toLowerCase().replace(/\s+/g, ' '),
    ]);
    const digest = digestOf([result, appliedTime, read, place, seen, makerValidDays]);
    const before = await takenBefore(manager, 'skin-tests', rowKey, taking);
    const same = before && nothingNew(before, digest, record, taking);
    if (same) return same;
    const ours = (await manager.findBy(SkinTest, { clientId: client.id })).find(
      (test) =>
        dateIn(taking.salon.zone, test.appliedAt) === appliedOn &&
        sameProductLine(test.productLine, productLine),
    );
    // A reaction that is told only now must not be lost because a test of that day is on record.
    if (ours && result === 'reacted' && ours.result !== 'reacted') {
      return await this.takeReaction(manager, about, taking);
    }
    if (before) throw changedSince('skin test');
    const again = seenBefore(rowKey, record, taking);
    if (again) return again;
    const memory = { clientId: client.id, rowKey, digest };
    if (ours) {
      await remember(manager, 'skin-tests', { ...memory, subjectId: ours.id }, record, taking);
      return { outcome: 'same', words: 'A test of that line and day is on record already; ours is kept.' };
    }
    const { test, counts } = await this.outside.take(
      manager,
      taking.salon,
      {
        clientId: client.id,
        appliedOn,
        appliedTime,
        productLine,
        result,
        readOn: read.on,
        readTime: read.time,
        place,
        seen: seen || (result === 'reacted' ? 'A reaction, taken over from other records.' : ''),
        makerValidDays,
      },
      taking.actor,
      taking.now,
    );
    await remember(manager, 'skin-tests', { ...memory, subjectId: test.id }, record, taking);
    return { outcome: 'new', words: counts || `${productLine}, ${result}; marked as taken over.` };
  }

  /** A reaction that no whole skin test tells of: a safety note, which bars colour. */
  private async takeReaction(
    manager: EntityManager,
    { row, record, client }: AboutClient,
    taking: Taking,
  ): Promise<Omit<Taken, 'who'>> {
    const told = ['appliedOn', 'productLine', 'result', 'seen'].map((key) => row.text(key)).filter(Boolean);
    const rowKey = digestOf(['reaction', client.id, ...told]);
    const before = await takenBefore(manager, 'skin-tests', rowKey, taking);
    const digest = digestOf(told);
    const same = before && nothingNew(before, digest, record, taking);
    if (same) return same;
    const again = seenBefore(rowKey, record, taking);
    if (again) return again;
    const words = `Taken over from other records: ${told.join(', ')}.`;
    const note = await this.outside.noteReaction(manager, client.id, words, taking.actor, taking.now);
    await remember(
      manager,
      'skin-tests',
      { clientId: client.id, subjectId: note.id, rowKey, digest },
      record,
      taking,
    );
    return {
      outcome: 'new',
      words: 'A reaction is told: noted on her card, and no colour until it is cleared.',
    };
  }
}
