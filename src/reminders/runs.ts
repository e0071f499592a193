import { Inject, Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { addDays, Clock, DomainError, dateIn, IsDateText, validated } from '../base/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import {
  keysetPage,
  newId,
  type Page,
  type PageAsked,
  Reader,
  SETTINGS,
  type Settings,
  UnitOfWork,
} from '../store/index.js';
import { channelsOf } from './channels.js';
import { type DueShape, dueShapes, shapeRow } from './due-shapes.js';
import { Message, MessageRun, type MessageState } from './entities.js';
import { NudgeExclusions } from './nudge-exclusions.js';
import { oweRows } from './owe-rows.js';
import { afterQuiet } from './quiet-hours.js';
import { rulesOf } from './rules.js';
import { FORGOTTEN_DAYS } from './upkeep.js';

const MOST = 5_000;
const FARTHEST_DAYS = 60;
const SHOWN = 20;

export class RunInput {
  /** Shapes that come due by then. */
  @IsDateText({ message: 'Until: write a real date as YYYY-MM-DD.' })
  until: string;
}

/** How far a run has come. */
export type RunProgress = {
  readonly id: string;
  readonly startedAt: number;
  readonly stoppedAt: number | null;
  readonly total: number;
  readonly counts: Readonly<Record<MessageState, number>>;
  /** Nothing is left to be sent. */
  readonly over: boolean;
};

/** Invitations to many at once, which can be watched and stopped. */
@Injectable()
export class Runs {
  private readonly channels: ReturnType<typeof channelsOf>;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly exclusions: NudgeExclusions,
    @Inject(SETTINGS) settings: Settings,
  ) {
    this.channels = channelsOf(settings);
  }

  /** How many would be invited. Throws INPUT.INVALID, RUN.UNTIL. */
  async wouldReach(salonId: string, input: unknown): Promise<number> {
    const asked = await this.asked(salonId, input);
    return (await this.shapes(this.reader.manager, asked)).length;
  }

  /**
   * Owes an invitation to everybody whose shape comes due by a date and who may be invited, all in one transaction.
   * Throws INPUT.INVALID, RUN.UNTIL, RUN.NOBODY.
   */
  async start(salonId: string, input: unknown, actor: Actor): Promise<RunProgress> {
    const asked = await this.asked(salonId, input);
    const now = this.clock.now();
    const id = newId();
    await this.units.run(async (manager) => {
      const shapes = await this.shapes(manager, asked);
      if (shapes.length === 0) {
        throw new DomainError(
          'refused',
          'RUN.NOBODY',
          'There is nobody to invite: all who may be written to have an appointment or were written to lately.',
        );
      }
      const { salon } = asked;
      const kind = 'shape-due' as const;
      await manager.insert(MessageRun, {
        id,
        salonId: salon.id,
        kind,
        startedAt: now,
        startedById: actor.accountId,
        stoppedAt: null,
      });
      const dueAt = afterQuiet(await rulesOf(manager, salon), salon.zone, now);
      const rows = shapes.map((shape) => ({ ...shapeRow(salon.id, shape, dueAt), runId: id }));
      await oweRows(manager, rows, now);
      await this.audit.record(manager, actor, {
        action: 'message-run.start',
        subjectKind: 'message-run',
        subjectId: id,
        details: { messages: rows.length },
      });
    });
    return await this.progress(id);
  }

  /** Throws RUN.NOT_FOUND. */
  async progress(id: string): Promise<RunProgress> {
    const run = await this.reader.manager.findOneBy(MessageRun, { id });
    if (!run) throw DomainError.notFound('RUN.NOT_FOUND', 'run of messages');
    return await this.asProgress(run);
  }

  /** The newest first. */
  async list(salonId: string): Promise<RunProgress[]> {
    const runs = await this.reader.manager.find(MessageRun, {
      where: { salonId },
      order: { id: 'DESC' },
      take: SHOWN,
    });
    return await Promise.all(runs.map((run) => this.asProgress(run)));
  }

  /** A page of a salon's runs, newest first. */
  async page(salonId: string, asked: PageAsked): Promise<Page<RunProgress>> {
    const query = this.reader.manager.createQueryBuilder(MessageRun, 'run').where({ salonId });
    const { rows, next } = await keysetPage(query, ['id'], 'DESC', asked);
    return { rows: await Promise.all(rows.map((run) => this.asProgress(run))), next };
  }

  /** Holds back what has not gone yet, save what is on its way this moment. Stopping twice is the same. */
  async stop(id: string, actor: Actor): Promise<RunProgress> {
    await this.units.run(async (manager) => {
      const run = await manager.findOneBy(MessageRun, { id });
      if (!run) throw DomainError.notFound('RUN.NOT_FOUND', 'run of messages');
      if (run.stoppedAt !== null) return;
      await manager.update(MessageRun, { id }, { stoppedAt: this.clock.now() });
      await manager.update(
        Message,
        { runId: id, state: 'owed' },
        { state: 'withdrawn', reason: 'stopped', leaseId: null, notBefore: null },
      );
      await this.audit.record(manager, actor, {
        action: 'message-run.stop',
        subjectKind: 'message-run',
        subjectId: id,
      });
    });
    return await this.progress(id);
  }

  private async asked(salonId: string, input: unknown): Promise<{ salon: Salon; until: string }> {
    const { until } = await validated(RunInput, input);
    const salon = await this.reader.manager.findOneBy(Salon, { id: salonId });
    if (!salon) throw DomainError.notFound('SALON.NOT_FOUND', 'salon');
    const today = dateIn(salon.zone, this.clock.now());
    if (until < today || until > addDays(today, FARTHEST_DAYS)) {
      throw DomainError.invalid(
        'RUN.UNTIL',
        'until',
        `Until: choose a day from today to ${addDays(today, FARTHEST_DAYS)}.`,
      );
    }
    return { salon, until };
  }

  private async shapes(
    manager: EntityManager,
    { salon, until }: { salon: Salon; until: string },
  ): Promise<DueShape[]> {
    const now = this.clock.now();
    return await dueShapes(
      manager,
      {
        salonId: salon.id,
        until,
        since: addDays(dateIn(salon.zone, now), -FORGOTTEN_DAYS),
        rules: await rulesOf(manager, salon),
        channels: this.channels,
        exclusions: this.exclusions,
        limit: MOST,
      },
      now,
    );
  }

  private async asProgress({ id, startedAt, stoppedAt }: MessageRun): Promise<RunProgress> {
    const rows = await this.reader.manager
      .createQueryBuilder(Message, 'message')
      .select('message.state', 'state')
      .addSelect('COUNT(*)', 'count')
      .where({ runId: id })
      .groupBy('message.state')
      .getRawMany<{ state: MessageState; count: number | string }>();
    const counts = { owed: 0, sent: 0, failed: 0, withdrawn: 0, unreachable: 0 };
    for (const { state, count } of rows) counts[state] = Number(count);
    const total = Object.values(counts).reduce((sum, count) => sum + count, 0);
    return { id, startedAt, stoppedAt, total, counts, over: counts.owed === 0 };
  }
}
