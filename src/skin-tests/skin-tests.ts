import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, DomainError, dateIn, dateInWords, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { type Actor, Audit, permits } from '../identity/index.js';
import { Salon, Staff } from '../salon/index.js';
import { loadForEdit, newId, Reader, UnitOfWork } from '../store/index.js';
import { CAUTIONS } from './cautions.js';
import { questionOf } from './colour-gate.js';
import type { ColourQuestion } from './colour-question.js';
import { NewSkinTestDto, ReadingDto } from './dto.js';
import { MedicalClearance, SafetyNote, SkinTest } from './entities.js';
import { momentOf } from './moment.js';
import { personalBar } from './personal-bar.js';
import { reactionRecordedAt } from './reactions.js';
import { SkinTestEffects } from './skin-test-effects.js';
import {
  SKIN_TEST_WAIT_MS,
  type SkinTestRules,
  type SkinTestState,
  skinTestState,
  validThrough,
} from './state.js';
import { momentInWords } from './test-verdict.js';

const SKIN_TEST = { code: 'SKIN_TEST', name: 'skin test' } as const;

/** A skin test as it stands now. */
export type StandingTest = SkinTest & {
  readonly state: SkinTestState;
  /** Last calendar date on which a clear reading counts. */
  readonly validThrough: string;
  /** From this instant on it may be read clear. */
  readonly readableFrom: number;
};

/** Everything a page must show before colour is thought of. */
export type SkinTestStanding = {
  /** Newest first. */
  readonly tests: readonly StandingTest[];
  readonly notes: readonly SafetyNote[];
  readonly clearances: readonly MedicalClearance[];
  /** Why no colour at all today, whatever the tests say; null when nothing personal bars it. */
  readonly bar: { readonly reason: string; readonly words: string } | null;
  readonly cautions: readonly string[];
};

@Injectable()
export class SkinTests {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly effects: SkinTestEffects = new SkinTestEffects(),
  ) {}

  /**
   * Records a test that was applied, now unless a moment is given. Throws INPUT.INVALID, SKIN_TEST.MOMENT (still
   * to come), SKIN_TEST.APPLIED_BY (nobody named), and 'refused' SKIN_TEST.UNDER_16, BIRTHDAY_UNKNOWN, REACTION
   * or BLACK_HENNA_REACTION: nobody is tested under 16, nor after a reaction without medical clearance.
   */
  async record(input: unknown, actor: Actor): Promise<StandingTest> {
    const given = await validated(NewSkinTestDto, input);
    const now = this.clock.now();
    return await this.units.run(async (manager) => {
      const { client, rules } = await subject(manager, given.clientId);
      const appliedAt = momentOf(given, rules.zone, now);
      const question = await questionOf(manager, {
        clientId: client.id,
        salonId: client.salonId,
        at: appliedAt,
        now,
      });
      requireMayBeTested(question);
      const test = manager.create(SkinTest, {
        id: newId(),
        clientId: client.id,
        productLine: given.productLine,
        place: given.place,
        appliedAt,
        appliedById: await appliedBy(manager, client.salonId, given.appliedById ?? null, actor),
        readAt: null,
        readingRecordedAt: null,
        result: null,
        seen: '',
        makerValidDays: given.makerValidDays ?? null,
        version: 1,
      });
      await manager.insert(SkinTest, test);
      await this.trail(manager, actor, 'skin-test.record', test);
      await this.effects.happened('placed', manager, test, client.salonId);
      return standing(test, rules, now);
    });
  }

  /**
   * Records a reading, made now unless a moment is given. Clear only from 48 h after applying and before the test
   * lapses; a reaction at any time, also after a clear reading, and then for good. Throws INPUT.INVALID,
   * SKIN_TEST.NOT_FOUND, STALE, MOMENT, TOO_EARLY, LAPSED, ALREADY_READ, SEEN_MISSING.
   */
  async read(id: string, input: unknown, actor: Actor): Promise<StandingTest> {
    const given = await validated(ReadingDto, input);
    const now = this.clock.now();
    return await this.units.run(async (manager) => {
      const test = await loadForEdit(manager, SkinTest, id, SKIN_TEST, given.expectedVersion ?? undefined);
      const { client, rules } = await subject(manager, test.clientId);
      const readAt = momentOf(given, rules.zone, now);
      requireReadable(test, given, readAt, rules);
      test.seen = [test.seen, given.seen].filter(Boolean).join('\n');
      test.result = given.result;
      test.readAt = readAt;
      test.readingRecordedAt = now;
      const saved = await manager.save(test);
      await this.trail(manager, actor, 'skin-test.read', test);
      await this.effects.happened('read', manager, saved, client.salonId);
      return standing(saved, rules, now);
    });
  }

  /** Newest first. Throws CLIENT.NOT_FOUND. */
  async ofClient(clientId: string): Promise<StandingTest[]> {
    const manager = this.reader.manager;
    const { rules } = await subject(manager, clientId);
    const tests = await manager.find(SkinTest, {
      where: { clientId },
      order: { appliedAt: 'DESC', id: 'DESC' },
    });
    return tests.map((test) => standing(test, rules, this.clock.now()));
  }

  /** The tests with everything else that bears on colour, and the cautions. Throws CLIENT.NOT_FOUND. */
  async standing(clientId: string): Promise<SkinTestStanding> {
    const manager = this.reader.manager;
    const { client } = await subject(manager, clientId);
    const now = this.clock.now();
    const question = await questionOf(manager, { clientId, salonId: client.salonId, at: now, now });
    const bar = personalBar(question);
    return {
      tests: await this.ofClient(clientId),
      notes: await manager.find(SafetyNote, { where: { clientId }, order: { notedAt: 'DESC', id: 'DESC' } }),
      clearances: await manager.find(MedicalClearance, {
        where: { clientId },
        order: { recordedAt: 'DESC', id: 'DESC' },
      }),
      bar: bar ? { reason: bar.reason, words: bar.words } : null,
      cautions: CAUTIONS,
    };
  }

  /**
   * The same as this person may see it: what was seen, told and documented only for those with the right to health
   * notes, whose look is audited; empty words for everybody else. Throws CLIENT.NOT_FOUND.
   */
  async standingFor(clientId: string, actor: Actor): Promise<SkinTestStanding> {
    const all = await this.standing(clientId);
    if (seesHealth(actor)) {
      await this.units.run((manager) =>
        this.audit.record(manager, actor, {
          action: 'skin-test.look',
          subjectKind: 'client',
          subjectId: clientId,
        }),
      );
      return all;
    }
    return {
      ...all,
      tests: all.tests.map((test) => ({ ...test, seen: '' })),
      notes: all.notes.map((note) => ({ ...note, told: '' })),
      clearances: all.clearances.map((clearance) => ({ ...clearance, says: '' })),
    };
  }

  private async trail(manager: EntityManager, actor: Actor, action: string, test: SkinTest): Promise<void> {
    await this.audit.record(manager, actor, {
      action,
      subjectKind: 'client',
      subjectId: test.clientId,
      details: { skinTestId: test.id, productLine: test.productLine },
    });
  }
}

function seesHealth({ role, scopes }: Actor): boolean {
  if (role === 'client') return false;
  return role === 'system' || permits({ role, ...(scopes && { scopes }) }, 'client.health');
}

function standing(test: SkinTest, rules: SkinTestRules, now: number): StandingTest {
  return Object.assign(test, {
    state: skinTestState(test, rules, now),
    validThrough: validThrough(test, rules),
    readableFrom: test.appliedAt + SKIN_TEST_WAIT_MS,
  });
}

async function subject(
  manager: EntityManager,
  clientId: string,
): Promise<{ client: Client; rules: SkinTestRules }> {
  const client = await manager.findOneBy(Client, { id: clientId });
  if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
  const salon = await manager.findOneByOrFail(Salon, { id: client.salonId });
  return { client, rules: { validDays: salon.skinTestValidDays, zone: salon.zone } };
}

/** What was not yet on record when the test was applied is no reason to refuse writing it down afterwards. */
function requireMayBeTested(question: ColourQuestion): void {
  const then = question.at;
  const known = <T extends { readonly notedAt: number }>(note: T | null) =>
    note && note.notedAt <= then ? note : null;
  const bar = personalBar({
    ...question,
    tests: question.tests.filter((test) => reactionRecordedAt(test) <= then),
    colourReaction: known(question.colourReaction),
    blackHennaReaction: known(question.blackHennaReaction),
    irritatedScalp: false,
  });
  if (bar) {
    throw new DomainError('refused', `SKIN_TEST.${bar.reason}`, bar.words, [], { cautions: CAUTIONS });
  }
}

async function appliedBy(
  manager: EntityManager,
  salonId: string,
  named: string | null,
  actor: Actor,
): Promise<string> {
  const who = named ? { id: named } : actor.accountId && { accountId: actor.accountId };
  const staff = who && (await manager.findOneBy(Staff, { ...who, salonId }));
  if (!staff) {
    throw DomainError.invalid(
      'SKIN_TEST.APPLIED_BY',
      'appliedById',
      'Applied by: choose which of the staff applied the test.',
    );
  }
  return staff.id;
}

function requireReadable(test: SkinTest, reading: ReadingDto, readAt: number, rules: SkinTestRules): void {
  const { result } = reading;
  if (test.result === 'reacted' || test.result === result) {
    throw new DomainError(
      'conflict',
      'SKIN_TEST.ALREADY_READ',
      test.result === 'reacted'
        ? 'A reaction is on record for this test and stays there. Write anything further as a safety note.'
        : 'This test has been read clear already. Only a later reaction can be added.',
    );
  }
  if (readAt < test.appliedAt) {
    throw DomainError.invalid(
      'SKIN_TEST.MOMENT',
      reading.date ? 'date' : 'at',
      `Moment: the test was applied only on ${momentInWords(rules, test.appliedAt)}. Check date and time.`,
    );
  }
  if (result === 'reacted') {
    if (reading.seen) return;
    throw DomainError.invalid(
      'SKIN_TEST.SEEN_MISSING',
      'seen',
      'What was seen: write what reacted and when.',
    );
  }
  if (readAt - test.appliedAt < SKIN_TEST_WAIT_MS) {
    throw DomainError.invalid(
      'SKIN_TEST.TOO_EARLY',
      'result',
      `Result: a clear reading counts only after 48 hours, from ${momentInWords(rules, test.appliedAt + SKIN_TEST_WAIT_MS)}. A reaction can be recorded now.`,
    );
  }
  const lastDay = validThrough(test, rules);
  if (dateIn(rules.zone, readAt) > lastDay) {
    throw DomainError.invalid(
      'SKIN_TEST.LAPSED',
      'result',
      `Result: this test lapsed after ${dateInWords(lastDay)} and cannot be read clear any more. Apply a new one.`,
    );
  }
}
