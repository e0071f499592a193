import { Injectable } from '@nestjs/common';
import { type EntityManager, In } from 'typeorm';
import { DomainError, dateIn, dateInWords, dayBounds, instantAt } from '../base/index.js';
import { type Actor, Audit } from '../identity/index.js';
import type { Salon } from '../salon/index.js';
import { newId } from '../store/index.js';
import { SafetyNote, SkinTest } from './entities.js';
import { isReadClear } from './state.js';

const MINUTE_MS = 60_000;
const MOST_LINE = 120;

/** A skin test as other records have it. Dates 'YYYY-MM-DD', times 'HH:MM' by the salon's clock. */
export type OutsideTest = {
  readonly clientId: string;
  readonly appliedOn: string;
  readonly appliedTime: string | undefined;
  readonly productLine: string;
  readonly result: 'clear' | 'reacted';
  readonly readOn: string | undefined;
  readonly readTime: string | undefined;
  readonly place: string;
  readonly seen: string;
  readonly makerValidDays: number | undefined;
};

export type TakenTest = {
  readonly test: SkinTest;
  /** Why the gate will not count it, in words; empty for a clear test that is read as it must be, and for a reaction. */
  readonly counts: string;
};

/**
 * Skin tests taken over from other records. They never loosen the gate: what is not known is taken at its worst. Without
 * a time a test was applied in the last minute of its day and read in the first of its; without a date of reading it
 * was not read; and once a reaction is on record no clear result from elsewhere is taken at all.
 */
@Injectable()
export class OutsideTests {
  constructor(private readonly audit: Audit) {}

  /**
   * In the caller's unit of work. Throws SKIN_TEST.MOMENT for dates that cannot be, SKIN_TEST.REACTION for a clear
   * result of somebody with a reaction on record, SKIN_TEST.LINE_MISSING.
   */
  async take(
    manager: EntityManager,
    salon: Salon,
    given: OutsideTest,
    actor: Actor,
    now: number,
  ): Promise<TakenTest> {
    const productLine = given.productLine.trim();
    if (productLine === '' || productLine.length > MOST_LINE) {
      throw DomainError.invalid(
        'SKIN_TEST.LINE_MISSING',
        'productLine',
        `Product line: name the very line that was tested, in at most ${MOST_LINE} characters.`,
      );
    }
    if (given.result === 'clear') await requireNoReaction(manager, given.clientId);
    const { appliedAt, readAt } = moments(given, salon.zone, now);
    const test = manager.create(SkinTest, {
      id: newId(),
      clientId: given.clientId,
      productLine,
      place: given.place.slice(0, 80) || 'not told',
      appliedAt,
      appliedById: null,
      readAt,
      readingRecordedAt: now,
      result: given.result,
      seen: given.seen.slice(0, 2000),
      makerValidDays: given.makerValidDays ?? null,
      takenOverAt: now,
      version: 1,
    });
    await manager.insert(SkinTest, test);
    await this.audit.record(manager, actor, {
      action: 'skin-test.take-over',
      subjectKind: 'client',
      subjectId: test.clientId,
      details: { skinTestId: test.id, productLine },
    });
    return { test, counts: given.result === 'clear' && !isReadClear(test, now) ? whyNot(test) : '' };
  }

  /** A reaction of which too little is known for a skin test: noted all the same, and it bars colour. */
  async noteReaction(
    manager: EntityManager,
    clientId: string,
    told: string,
    actor: Actor,
    now: number,
  ): Promise<SafetyNote> {
    const note = manager.create(SafetyNote, {
      id: newId(),
      clientId,
      kind: 'colour-reaction',
      told: told.slice(0, 2000),
      notedAt: now,
      notedById: actor.accountId,
      endedAt: null,
    });
    await manager.insert(SafetyNote, note);
    await this.audit.record(manager, actor, {
      action: 'safety-note.take-over',
      subjectKind: 'client',
      subjectId: clientId,
      details: { safetyNoteId: note.id },
    });
    return note;
  }
}

async function requireNoReaction(manager: EntityManager, clientId: string): Promise<void> {
  const reacted =
    (await manager.existsBy(SkinTest, { clientId, result: 'reacted' })) ||
    (await manager.existsBy(SafetyNote, {
      clientId,
      kind: In(['colour-reaction', 'black-henna-reaction']),
    }));
  if (!reacted) return;
  throw new DomainError(
    'refused',
    'SKIN_TEST.REACTION',
    'A reaction is on record for this client: no clear result from elsewhere is taken over. Only a test applied here, after medical clearance, can count.',
    [{ field: 'result', message: 'Result: a reaction is on record for this client.' }],
  );
}

function moments(
  { appliedOn, appliedTime, readOn, readTime }: OutsideTest,
  zone: string,
  now: number,
): { appliedAt: number; readAt: number | null } {
  const today = dateIn(zone, now);
  const wrong = (field: string, message: string) => DomainError.invalid('SKIN_TEST.MOMENT', field, message);
  const late = (date: string) => `${dateInWords(date)} is still to come. Check the date.`;
  if (appliedOn > today) throw wrong('appliedOn', `Applied on: ${late(appliedOn)}`);
  if (readOn !== undefined && readOn > today) throw wrong('readOn', `Read on: ${late(readOn)}`);
  if (readOn !== undefined && readOn < appliedOn) {
    throw wrong('readOn', 'Read on: this is before the test was applied. Check both dates.');
  }
  const lastMinute = dayBounds(zone, appliedOn).endsAt - MINUTE_MS;
  const appliedAt = appliedTime ? instantAt(zone, appliedOn, appliedTime) : Math.min(lastMinute, now);
  if (appliedAt > now) throw wrong('appliedTime', 'Applied at: this is still to come. Check the time.');
  if (readOn === undefined) return { appliedAt, readAt: null };
  const readAt = readTime ? instantAt(zone, readOn, readTime) : dayBounds(zone, readOn).startsAt;
  if (readAt > now) throw wrong('readTime', 'Read at: this is still to come. Check the time.');
  if (readAt < appliedAt) {
    if (appliedTime && readTime) {
      throw wrong('readTime', 'Read at: this is before the test was applied. Check both times.');
    }
    return { appliedAt, readAt: null };
  }
  return { appliedAt, readAt };
}

function whyNot({ readAt }: SkinTest): string {
  return readAt === null
    ? 'Kept, but it does not count: it is not known when it was read.'
    : 'Kept, but it does not count: 48 hours between applying and reading are not shown. Give both times, or apply a new test.';
}
