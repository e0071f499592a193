import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, DomainError, validated } from '../base/index.js';
import { type Actor, Audit, permits } from '../identity/index.js';
import { type Salon, Salons } from '../salon/index.js';
import { keysetPage, newId, type Page, type PageAsked, Reader, UnitOfWork } from '../store/index.js';
import { type KnownClient, knownClients } from './client-lookup.js';
import { guessDelimiter } from './csv-records.js';
import { ImportSettingsInput, ImportUploadInput } from './dto.js';
import { ImportBatch, ImportRun, type Outcome, type ReportLine } from './entities.js';
import { fullName } from './find-client.js';
import { guessColumns } from './guess-columns.js';
import { ImportFiles } from './import-files.js';
import { ImportRunner, type Progress } from './import-runner.js';
import { FORMATS_OF, IMPORT_FIELDS, type ImportKind } from './kinds.js';
import { guessFormat, headOf, openRecords } from './open-records.js';
import type { DateOrder } from './read-date.js';
import { refusedCsv } from './refused-csv.js';
import { checkedMapping, dateColumns, lacksOf, requireParties } from './set-up.js';
import type { ImportSettings } from './settings.js';
import { shownOrder, surveyed } from './survey.js';
import { orInWords } from './trouble.js';

const PREVIEW_ROWS = 5;
const USUAL = {
  onDouble: 'fill',
  onShared: 'add',
  serviceId: null,
  staffId: null,
  outsideRota: false,
} as const;

/** A line of the report as it is shown. */
export type ShownLine = {
  readonly row: number;
  readonly outcome: Outcome;
  readonly words: string;
  readonly column: string;
  readonly clientId: string | null;
  readonly who: string;
};

export type Preview = { readonly headings: readonly string[]; readonly rows: readonly (readonly string[])[] };

/** Files that are taken over: handed in, set up, checked, done. Only whoever may import gets anything from here. */
@Injectable()
export class Imports {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly salons: Salons,
    private readonly uploads: ImportFiles,
    private readonly runner: ImportRunner,
  ) {}

  /**
   * Keeps a file and looks through it. Throws INPUT.INVALID and IMPORT.* of what is wrong with the file; nothing of it
   * is kept then. Throws SALON.NOT_FOUND.
   */
  async upload(
    salonId: string,
    input: unknown,
    file: { readonly name: string; readonly bytes: AsyncIterable<Uint8Array> },
    actor: Actor,
  ): Promise<ImportRun> {
    requireRight(actor);
    const { kind } = await validated(ImportUploadInput, input);
    const salon = await this.salons.get(salonId);
    const now = this.clock.now();
    const id = newId();
    const { files } = this.uploads;
    const stored = await files.store(id, file.bytes);
    try {
      const run = Object.assign(new ImportRun(), {
        id,
        salonId: salon.id,
        kind,
        fileName: nameOf(file.name),
        ...stored,
        state: 'uploaded' as const,
        pass: null,
        rowsDone: 0,
        newRows: 0,
        changedRows: 0,
        sameRows: 0,
        skippedRows: 0,
        refusedRows: 0,
        problem: null,
        leasedBy: null,
        leasedUntil: null,
        madeAt: now,
        madeById: actor.accountId,
        finishedAt: null,
      });
      const head = await headOf(files, run);
      run.format = guessFormat(head);
      requireFormat(kind, run);
      run.delimiter = guessDelimiter(head);
      await this.look(run, salon);
      const kept = async (manager: EntityManager): Promise<void> => {
        await manager.insert(ImportRun, run);
        const details = { kind, rows: run.survey.rows, bytes: run.bytes };
        await this.audit.record(manager, actor, {
          action: 'import.upload',
          subjectKind: 'import',
          subjectId: id,
          details,
        });
      };
      await orInWords(() => this.units.run(kept));
      return run;
    } catch (error) {
      await files.remove(id, stored.pieces);
      throw error;
    }
  }

  /** Newest first. */
  async list(salonId: string, actor: Actor): Promise<ImportRun[]> {
    requireRight(actor);
    return await this.reader.manager.find(ImportRun, {
      where: { salonId },
      order: { id: 'DESC' },
      take: 100,
    });
  }

  /** A page of a salon's imports, newest first. */
  async page(salonId: string, asked: PageAsked, actor: Actor): Promise<Page<ImportRun>> {
    requireRight(actor);
    const query = this.reader.manager.createQueryBuilder(ImportRun, 'run').where({ salonId });
    return await keysetPage(query, ['id'], 'DESC', asked);
  }

  /** Throws IMPORT.NOT_FOUND. */
  async get(id: string, actor: Actor): Promise<ImportRun> {
    requireRight(actor);
    return await loaded(this.reader.manager, id);
  }

  /** Whether whoever worked on it is gone, so that it can be gone on with. */
  isAbandoned(run: ImportRun): boolean {
    const underWay = run.state === 'checking' || run.state === 'running';
    return underWay && (run.leasedUntil ?? 0) <= this.clock.now();
  }

  /** The first rows as they are read now. */
  async preview(run: ImportRun): Promise<Preview> {
    if (run.pieces === 0) return { headings: run.survey.headings, rows: [] };
    const { zone } = await this.salons.get(run.salonId);
    const { headings, records } = await openRecords(this.uploads.files, run, zone);
    const rows: (readonly string[])[] = [];
    for await (const { cells } of records) {
      rows.push(cells);
      if (rows.length >= PREVIEW_ROWS) break;
    }
    return { headings, rows };
  }

  /** Sets up how the file is read. Throws IMPORT.NOT_FOUND, IMPORT.BUSY, IMPORT.BEGUN, INPUT.INVALID. */
  async setUp(id: string, input: unknown, actor: Actor): Promise<ImportRun> {
    requireRight(actor);
    const given = await validated(ImportSettingsInput, input);
    const run = await this.get(id, actor);
    const salon = await this.salons.get(run.salonId);
    this.requireIdle(run);
    if (run.pass === 'run') {
      throw new DomainError(
        'conflict',
        'IMPORT.BEGUN',
        'This import has begun: its rows are read as they were set up. Hand the file in again to read it otherwise.',
      );
    }
    const rereads =
      (given.delimiter !== undefined && given.delimiter !== run.delimiter) ||
      (given.encoding !== undefined && given.encoding !== run.encoding);
    if (rereads) {
      Object.assign(run, {
        delimiter: given.delimiter ?? run.delimiter,
        encoding: given.encoding ?? run.encoding,
      });
      await this.look(run, salon);
    }
    const { mapping, delimiter: _, encoding: __, ...others } = given;
    const told = Object.fromEntries(Object.entries(others).filter(([, value]) => value !== undefined));
    const settings: ImportSettings = {
      ...run.settings,
      ...told,
      ...(mapping && !rereads && { mapping: checkedMapping(mapping, run) }),
    };
    await this.units.run(async (manager) => {
      await requireParties(manager, salon, settings);
      const present = await loaded(manager, id);
      this.requireIdle(present);
      const { delimiter, encoding, survey } = run;
      await manager.delete(ImportBatch, { runId: id });
      await manager.save(
        Object.assign(present, {
          delimiter,
          encoding,
          survey,
          settings,
          state: 'uploaded',
          pass: null,
          rowsDone: 0,
        }),
      );
    });
    return await this.get(id, actor);
  }

  /** What has to be known before the file can be read; empty when nothing is lacking. */
  lacks(run: ImportRun): { readonly field: string; readonly message: string }[] {
    return lacksOf(run);
  }

  /** Says row by row what would happen, and changes nothing. Returns at once. Throws IMPORT.* */
  async check(id: string, actor: Actor): Promise<void> {
    await this.requireReady(id, actor);
    await this.runner.start(id, 'check', actor);
  }

  /** Does it, or goes on where it was cut short. Returns at once. */
  async run(id: string, actor: Actor): Promise<void> {
    await this.requireReady(id, actor);
    await this.runner.start(id, 'run', actor);
  }

  /** Does it and returns when it is done, was stopped or failed. */
  async runThrough(
    id: string,
    pass: 'check' | 'run',
    actor: Actor,
    told?: (progress: Progress) => void,
  ): Promise<ImportRun> {
    await this.requireReady(id, actor);
    await this.runner.finish(id, pass, actor, told);
    return await this.get(id, actor);
  }

  /** Throws IMPORT.IDLE. What is imported by then stays. */
  async stop(id: string, actor: Actor): Promise<void> {
    await this.get(id, actor);
    await this.runner.stop(id);
  }

  /** Lines of the report from a place on, up to `limit`; `next` is where the following page begins. */
  async report(
    id: string,
    { outcome, from = 0, limit = 100 }: { outcome?: Outcome; from?: number; limit?: number },
    actor: Actor,
  ): Promise<{ lines: ShownLine[]; next: number | null }> {
    const run = await this.get(id, actor);
    if (!run.pass) return { lines: [], next: null };
    const found: { at: number; line: ReportLine }[] = [];
    let position = -1;
    while (found.length <= limit) {
      const batch = await this.nextBatch(run, outcome, position, from);
      if (!batch) break;
      position = batch.position;
      batch.lines.forEach((line, i) => {
        const at = batch.position + i;
        if (at >= from && (outcome === undefined || line[1] === outcome)) found.push({ at, line });
      });
    }
    const shown = found.slice(0, limit);
    const ids = shown.flatMap(({ line }) => line[4] ?? []);
    const clients = new Map(
      (await knownClients(this.reader.manager, run.salonId, ids)).map((client) => [client.id, client]),
    );
    return {
      lines: shown.map(({ line: [row, what, words, column, clientId, who] }) => ({
        row,
        outcome: what,
        words,
        column,
        clientId: clientId && clients.has(clientId) ? clientId : null,
        who: nameNow(clients.get(clientId ?? '')) ?? who,
      })),
      next: found[limit]?.at ?? null,
    };
  }

  /** Refused rows as a sheet with the reasons, to be mended and handed in again. */
  async refused(id: string, actor: Actor): Promise<string> {
    const run = await this.get(id, actor);
    const reasons = new Map<number, string>();
    let position = -1;
    for (;;) {
      const batch = await this.nextBatch(run, 'refused', position, 0);
      if (!batch) break;
      position = batch.position;
      for (const [row, outcome, words] of batch.lines) if (outcome === 'refused') reasons.set(row, words);
    }
    const { zone } = await this.salons.get(run.salonId);
    return await refusedCsv(await openRecords(this.uploads.files, run, zone), reasons, run.delimiter);
  }

  /** Lets the file and its report go; what was imported stays. Throws IMPORT.BUSY. */
  async remove(id: string, actor: Actor): Promise<void> {
    const run = await this.get(id, actor);
    this.requireIdle(run);
    await this.units.run(async (manager) => {
      await manager.delete(ImportRun, { id });
      await this.audit.record(manager, actor, {
        action: 'import.remove',
        subjectKind: 'import',
        subjectId: id,
      });
    });
    await this.uploads.files.remove(id, run.pieces);
  }

  private async look(run: ImportRun, salon: Salon): Promise<void> {
    run.survey = await surveyed(await openRecords(this.uploads.files, run, salon.zone));
    const fields = IMPORT_FIELDS[run.kind];
    const mapping = guessColumns(run.survey.headings, fields);
    const shown = shownOrder(run.survey, dateColumns(run.kind, mapping));
    const dateOrder: DateOrder | null = shown === 'ask' || shown === undefined ? null : shown;
    run.settings = {
      ...USUAL,
      ...run.settings,
      units: run.settings?.units ?? salon.units,
      mapping,
      dateOrder,
    };
  }

  private async nextBatch(
    run: ImportRun,
    outcome: Outcome | undefined,
    after: number,
    from: number,
  ): Promise<ImportBatch | null> {
    const query = this.reader.manager
      .createQueryBuilder(ImportBatch, 'batch')
      .where('batch.runId = :runId AND batch.pass = :pass', { runId: run.id, pass: run.pass })
      .andWhere('batch.position > :after', { after })
      .andWhere(
        'batch.position + batch.newRows + batch.changedRows + batch.sameRows + batch.skippedRows + batch.refusedRows > :from',
        { from },
      )
      .orderBy('batch.position', 'ASC')
      .limit(1);
    if (outcome !== undefined) query.andWhere(`batch.${outcome}Rows > 0`);
    return await query.getOne();
  }

  private requireIdle(run: ImportRun): void {
    const underWay = run.state === 'checking' || run.state === 'running';
    if (underWay && !this.isAbandoned(run)) {
      throw new DomainError('conflict', 'IMPORT.BUSY', 'This import is under way. Wait for it, or stop it.');
    }
  }

  private async requireReady(id: string, actor: Actor): Promise<void> {
    const lacking = lacksOf(await this.get(id, actor));
    if (lacking.length > 0) {
      const words = lacking.map(({ message }) => message).join(' ');
      throw new DomainError('invalid', 'IMPORT.LACKING', words, lacking);
    }
  }
}

function nameNow(client: KnownClient | undefined): string | undefined {
  return client && fullName(client);
}

function requireRight({ role, scopes }: Actor): void {
  if (role === 'system') return;
  if (role !== 'client' && permits({ role, ...(scopes && { scopes }) }, 'import.write')) return;
  throw new DomainError('forbidden', 'IMPORT.FORBIDDEN', 'Only the owner imports. Please ask her.');
}

async function loaded(manager: EntityManager, id: string): Promise<ImportRun> {
  const run = await manager.findOneBy(ImportRun, { id });
  if (!run) throw DomainError.notFound('IMPORT.NOT_FOUND', 'import');
  return run;
}

/** The last part of a path, without control characters. */
function nameOf(fileName: string): string {
  const last = fileName.split(/[\\/]/).at(-1) ?? '';
  return last.replace(/\p{Cc}/gu, '').slice(0, 200) || 'file';
}

const FORMAT_NAMES = {
  csv: 'a sheet (CSV)',
  vcard: 'contacts (vCard)',
  calendar: 'a calendar (iCalendar)',
} as const;

function requireFormat(kind: ImportKind, { format }: ImportRun): void {
  if (FORMATS_OF[kind].includes(format)) return;
  const may = FORMATS_OF[kind].map((one) => FORMAT_NAMES[one]).join(' or ');
  throw DomainError.invalid(
    'IMPORT.WRONG_FORMAT',
    'file',
    `File: this is ${FORMAT_NAMES[format]}, and ${kind.replace('-', ' ')} come from ${may}.`,
  );
}
