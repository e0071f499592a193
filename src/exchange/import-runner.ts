import { Injectable, Logger, type OnApplicationShutdown } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, DomainError, dateIn } from '../base/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import { newId, UnitOfWork } from '../store/index.js';
import { ImportBatch, ImportRun, type Pass, type ReportLine } from './entities.js';
import { ImportFiles } from './import-files.js';
import { openRecords } from './open-records.js';
import type { ImportRecord } from './records.js';
import { SeenRows } from './row-keys.js';
import { Takers } from './takers.js';
import type { Taken, Taking } from './taking.js';
import { orInWords, stoppedBy } from './trouble.js';

/**
 * A process that is silent for so long is taken to be gone. Should it only be slow, it finds in its next transaction that
 * another one goes on, and ends: no row is ever taken twice.
 */
const LEASE_MS = 10_000;

/** Thrown to take back what a check did. */
class TakenBack extends Error {}

/** Thrown when the import was stopped, or somebody else has taken it over. */
class NoLongerOurs extends Error {}

export type Progress = { readonly rowsDone: number; readonly rows: number };

/**
 * Works through a file batch by batch. What a batch writes, its report and how far the import is are one transaction:
 * whenever this is cut short, it goes on from there. A check does the very same and takes each batch back.
 */
@Injectable()
export class ImportRunner implements OnApplicationShutdown {
  private readonly log = new Logger('imports');
  private readonly under = new Map<string, Promise<void>>();
  private closing = false;

  constructor(
    private readonly units: UnitOfWork,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly files: ImportFiles,
    private readonly takers: Takers,
  ) {}

  /** Finishes the batch in hand; the rest can be gone on with. */
  async onApplicationShutdown(): Promise<void> {
    this.closing = true;
    await Promise.allSettled(this.under.values());
  }

  /** Begins or goes on, and returns at once. Throws IMPORT.BUSY, IMPORT.NOT_FOUND, IMPORT.FILE_GONE. */
  async start(runId: string, pass: Pass, actor: Actor): Promise<void> {
    const token = await this.claim(runId, pass, actor);
    const work = this.work(runId, pass, token, actor)
      .catch((error: unknown) => this.log.error(`Import ${runId}: ${String(error)}`))
      .finally(() => this.under.delete(runId));
    this.under.set(runId, work);
  }

  /** Begins or goes on, and returns when nothing is left to do or it was stopped. Throws as `start` does. */
  async finish(runId: string, pass: Pass, actor: Actor, told?: (progress: Progress) => void): Promise<void> {
    const token = await this.claim(runId, pass, actor);
    const work = this.work(runId, pass, token, actor, told).finally(() => this.under.delete(runId));
    this.under.set(runId, work);
    await work;
  }

  /** Ends the work after the batch in hand. */
  async stop(runId: string): Promise<void> {
    await this.units.run(async (manager) => {
      const { affected } = await manager.update(
        ImportRun,
        { id: runId, state: 'checking' },
        { state: 'stopped', leasedBy: null, leasedUntil: null },
      );
      const running = await manager.update(
        ImportRun,
        { id: runId, state: 'running' },
        { state: 'stopped', leasedBy: null, leasedUntil: null },
      );
      if (!affected && !running.affected) {
        throw new DomainError('conflict', 'IMPORT.IDLE', 'This import is not under way.');
      }
    });
    await this.under.get(runId);
  }

  private async claim(runId: string, pass: Pass, actor: Actor): Promise<string> {
    const now = this.clock.now();
    const token = newId();
    const claimed = async (manager: EntityManager): Promise<void> => {
      const run = await manager.findOneBy(ImportRun, { id: runId });
      if (!run) throw DomainError.notFound('IMPORT.NOT_FOUND', 'import');
      if (run.pieces === 0) {
        throw new DomainError(
          'refused',
          'IMPORT.FILE_GONE',
          'The file is no longer here. Hand it in once more.',
        );
      }
      const underWay = run.state === 'checking' || run.state === 'running';
      if (underWay && (run.leasedUntil ?? 0) > now) {
        throw new DomainError(
          'conflict',
          'IMPORT.BUSY',
          'This import is under way. Wait for it, or stop it.',
        );
      }
      const goesOn = pass === 'run' && run.pass === 'run' && run.state !== 'done';
      if (!goesOn) {
        const from = pass === 'run' ? {} : { pass: 'check' as const };
        await manager.delete(ImportBatch, { runId, ...from });
        Object.assign(run, {
          rowsDone: 0,
          newRows: 0,
          changedRows: 0,
          sameRows: 0,
          skippedRows: 0,
          refusedRows: 0,
        });
      }
      // What a check found out is not kept: it begins afresh.
      Object.assign(run, {
        pass,
        state: pass === 'check' ? 'checking' : 'running',
        problem: null,
        leasedBy: token,
        leasedUntil: now + LEASE_MS,
        finishedAt: null,
      });
      await manager.save(run);
      const details = { kind: run.kind, rows: run.survey.rows, from: run.rowsDone };
      const action = pass === 'check' ? 'import.check' : 'import.run';
      await this.audit.record(manager, actor, { action, subjectKind: 'import', subjectId: runId, details });
    };
    await orInWords(() => this.units.run(claimed));
    return token;
  }

  private async work(
    runId: string,
    pass: Pass,
    token: string,
    actor: Actor,
    told?: (progress: Progress) => void,
  ): Promise<void> {
    try {
      await this.through(runId, pass, token, actor, told);
    } catch (error) {
      if (error instanceof NoLongerOurs) return;
      const words = stoppedBy(error);
      if (words === undefined) this.log.error(error instanceof Error ? (error.stack ?? '') : String(error));
      const problem =
        words ?? 'Something went wrong on our side. What was imported so far stays; it can be gone on with.';
      await this.settle(runId, token, { state: 'failed', problem }).catch(() => {
        // Not even that could be written down: whoever waits is told.
        throw new DomainError('refused', 'IMPORT.HALTED', problem);
      });
    }
  }

  private async through(
    runId: string,
    pass: Pass,
    token: string,
    actor: Actor,
    told?: (progress: Progress) => void,
  ): Promise<void> {
    const { run, salon } = await this.units.run(async (manager) => {
      const mine = await manager.findOneByOrFail(ImportRun, { id: runId });
      return { run: mine, salon: await manager.findOneByOrFail(Salon, { id: mine.salonId }) };
    });
    const taker = this.takers.of(run.kind);
    const source = await openRecords(this.files.files, run, salon.zone);
    const taking: Taking = {
      runId,
      salon,
      settings: run.settings,
      reading: {
        headings: source.headings,
        mapping: run.settings.mapping,
        dateOrder: run.settings.dateOrder,
        latestYear: Number(dateIn(salon.zone, this.clock.now()).slice(0, 4)),
      },
      actor,
      now: this.clock.now(),
      seen: pass === 'check' ? new SeenRows() : undefined,
    };
    let position = 0;
    const tell = () => told?.({ rowsDone: position, rows: run.survey.rows });
    let batch: ImportRecord[] = [];
    const flush = async () => {
      if (batch.length === 0) return;
      await this.settleBatch(token, pass, position, batch, { ...taking, now: this.clock.now() });
      position += batch.length;
      batch = [];
      tell();
      // Whoever else wants something done gets a turn.
      await new Promise((later) => setImmediate(later));
      if (this.closing) throw new NoLongerOurs();
    };
    for await (const record of source.records) {
      if (position < run.rowsDone) {
        position += 1;
        continue;
      }
      batch.push(record);
      if (batch.length >= taker.batchRows) await flush();
    }
    await flush();
    await this.settle(runId, token, {
      state: pass === 'check' ? 'checked' : 'done',
      finishedAt: this.clock.now(),
    });
  }

  private async settleBatch(
    token: string,
    pass: Pass,
    position: number,
    records: readonly ImportRecord[],
    taking: Taking,
  ): Promise<void> {
    const take = async (manager: EntityManager): Promise<Taken[]> => {
      const run = await manager.findOneByOrFail(ImportRun, { id: taking.runId });
      if (run.leasedBy !== token) throw new NoLongerOurs();
      return await this.takers.of(run.kind).take(manager, records, taking);
    };
    if (pass === 'run') {
      await this.units.run(async (manager) => {
        await this.report(manager, token, pass, position, records, await take(manager), taking);
      });
      return;
    }
    let taken: Taken[] = [];
    await this.units
      .run(async (manager) => {
        taken = await take(manager);
        throw new TakenBack();
      })
      .catch((error: unknown) => {
        if (!(error instanceof TakenBack)) throw error;
      });
    await this.units.run((manager) => this.report(manager, token, pass, position, records, taken, taking));
  }

  /** Writes what became of a batch, and how far the import is now. */
  private async report(
    manager: EntityManager,
    token: string,
    pass: Pass,
    position: number,
    records: readonly ImportRecord[],
    taken: readonly Taken[],
    { runId, actor, now }: Taking,
  ): Promise<void> {
    const lines = taken.map(({ outcome, words, column, clientId, who }, i): ReportLine => {
      // Her name is looked up while she is here; of those who are not, the row's own words are all there is.
      return [records[i]?.row ?? 0, outcome, words, column ?? '', clientId ?? null, clientId ? '' : who];
    });
    const count = (wanted: Taken['outcome']) => taken.filter(({ outcome }) => outcome === wanted).length;
    const counts = {
      newRows: count('new'),
      changedRows: count('changed'),
      sameRows: count('same'),
      skippedRows: count('skipped'),
      refusedRows: count('refused'),
    };
    await manager.insert(ImportBatch, { id: newId(), runId, pass, position, ...counts, lines });
    const run = await manager.findOneByOrFail(ImportRun, { id: runId });
    if (run.leasedBy !== token) throw new NoLongerOurs();
    for (const [name, value] of Object.entries(counts)) run[name as keyof typeof counts] += value;
    run.rowsDone = position + records.length;
    run.leasedUntil = now + LEASE_MS;
    await manager.save(run);
    if (pass === 'run' && counts.newRows + counts.changedRows > 0) {
      const details = { kind: run.kind, from: lines[0]?.[0] ?? 0, to: lines.at(-1)?.[0] ?? 0, ...counts };
      await this.audit.record(manager, actor, {
        action: 'import.batch',
        subjectKind: 'import',
        subjectId: runId,
        details,
      });
    }
  }

  private async settle(runId: string, token: string, changes: Partial<ImportRun>): Promise<void> {
    await this.units.run((manager) =>
      manager.update(
        ImportRun,
        { id: runId, leasedBy: token },
        { ...changes, leasedBy: null, leasedUntil: null },
      ),
    );
  }
}
