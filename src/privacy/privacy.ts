import { Injectable } from '@nestjs/common';
import { IsOptional, IsString, MaxLength } from 'class-validator';
import { type EntityManager, In, type ObjectLiteral } from 'typeorm';
import { Clock, DomainError, Trimmed, validated } from '../base/index.js';
import { Appointment, aheadOf } from '../book/index.js';
import { Client, ClientEffects, Consent } from '../clients/index.js';
import { Account, type Actor, Audit, AuditEntry } from '../identity/index.js';
import { Message } from '../reminders/index.js';
import { Reader, RequestKeys, UnitOfWork } from '../store/index.js';
import { type ClientTable, clientRows } from './client-rows.js';
import { KEPT } from './erasure-plan.js';

const CHUNK = 500;
const CONFIRMATION = 'erase';
/** Columns that are the store's own business. */
const OWN_BUSINESS = new Set(['searchText', 'dedupeKey', 'leaseId', 'version']);

export type ClientExport = {
  readonly format: 'halfinch-client';
  readonly version: 1;
  readonly exportedAt: string;
  readonly clientId: string;
  /** Rows by table; instants in milliseconds since 1970 (UTC), lengths in millimetres, money in the smallest coin. */
  readonly tables: Readonly<Record<string, readonly Readonly<Record<string, unknown>>[]>>;
  /** Who looked at or changed what, without names of staff. */
  readonly trail: readonly { readonly at: number; readonly role: string; readonly action: string }[];
};

/** What must be typed, because nothing brings an erased client back. */
export class ErasureInput {
  @IsOptional()
  @Trimmed()
  @IsString({ message: `Type "${CONFIRMATION}" to go on.` })
  @MaxLength(20, { message: `Type "${CONFIRMATION}" to go on.` })
  sure?: string;
}

export type ConsentLine = Consent & { readonly recordedBy: string | null };

export type Erased = { readonly deleted: number; readonly emptied: number };

/** What a client may ask for: everything on record, and its end. */
@Injectable()
export class Privacy {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly requestKeys: RequestKeys,
    private readonly effects: ClientEffects,
  ) {}

  /** Everything on record of a client, health notes included; the export itself is audited. Throws CLIENT.NOT_FOUND. */
  async export(clientId: string, actor: Actor): Promise<ClientExport> {
    return await this.units.run(async (manager) => {
      await requireClient(manager, clientId);
      await this.record(manager, actor, 'client.export', clientId);
      const tables = await clientRows(manager, clientId);
      const trail = await manager.find(AuditEntry, {
        where: { subjectKind: 'client', subjectId: clientId },
        order: { number: 'ASC' },
      });
      return {
        format: 'halfinch-client' as const,
        version: 1 as const,
        exportedAt: new Date(this.clock.now()).toISOString(),
        clientId,
        tables: Object.fromEntries(
          tables.map(({ metadata, rows }) => [metadata.tableName, rows.map(withoutOwnBusiness)]),
        ),
        trail: trail.map(({ at, role, action }) => ({ at, role, action })),
      };
    });
  }

  /** Every answer about messages, newest first, with who wrote it down. */
  async consents(clientId: string): Promise<ConsentLine[]> {
    const rows = await this.reader.manager.find(Consent, {
      where: { clientId },
      order: { at: 'DESC', id: 'DESC' },
    });
    const ids = rows.flatMap(({ recordedById }) => recordedById ?? []);
    const accounts = await this.reader.manager.findBy(Account, { id: In([...new Set(ids)]) });
    const names = new Map(accounts.map(({ id, name }) => [id, name]));
    return rows.map((row) => ({ ...row, recordedBy: names.get(row.recordedById ?? '') ?? null }));
  }

  /**
   * Takes everything personal out for good; what the salon's sums are made of stays, under no name. The audit trail
   * stays as it is: it holds no values. Throws CLIENT.NOT_FOUND, PRIVACY.ERASED, PRIVACY.BOOKED_AHEAD.
   */
  async erase(clientId: string, actor: Actor): Promise<Erased> {
    return await this.units.run((manager) => this.eraseWithin(manager, clientId, actor));
  }

  /** As `erase` for somebody who says that it is meant; `input` is an ErasureInput. Throws PRIVACY.CONFIRM too. */
  async eraseMeant(clientId: string, input: unknown, actor: Actor): Promise<Erased> {
    const { sure = '' } = await validated(ErasureInput, input ?? {});
    if (sure.toLowerCase() !== CONFIRMATION) {
      throw DomainError.invalid('PRIVACY.CONFIRM', 'sure', `Type "${CONFIRMATION}" to go on.`);
    }
    return await this.erase(clientId, actor);
  }

  async eraseWithin(manager: EntityManager, clientId: string, actor: Actor): Promise<Erased> {
    const client = await requireClient(manager, clientId);
    const now = this.clock.now();
    if (client.erasedAt) throw new DomainError('conflict', 'PRIVACY.ERASED', 'This client has been erased.');
    const ahead = await manager.existsBy(Appointment, aheadOf(clientId, now));
    if (ahead) {
      throw new DomainError(
        'refused',
        'PRIVACY.BOOKED_AHEAD',
        'This client has an appointment ahead. Cancel it first, then erase.',
      );
    }
    const tables = await clientRows(manager, clientId);
    let deleted = 0;
    let emptied = 0;
    for (const table of tables.toReversed()) {
      if (KEPT[table.metadata.tableName]) emptied += await empty(manager, table);
      else deleted += await remove(manager, table);
    }
    await manager.update(
      Message,
      { clientId, state: In(['owed', 'unreachable']) },
      { state: 'withdrawn', reason: 'over' },
    );
    await manager.update(Client, { id: clientId }, { erasedAt: now });
    await this.requestKeys.forgetAnswers(manager);
    await this.record(manager, actor, 'client.erase', clientId, { deleted, emptied });
    await this.effects.erased(manager, client);
    return { deleted, emptied };
  }

  private async record(
    manager: EntityManager,
    actor: Actor,
    action: string,
    clientId: string,
    details?: Record<string, number>,
  ): Promise<void> {
    await this.audit.record(manager, actor, {
      action,
      subjectKind: 'client',
      subjectId: clientId,
      ...(details && { details }),
    });
  }
}

async function requireClient(manager: EntityManager, id: string): Promise<Client> {
  const client = await manager.findOneBy(Client, { id });
  if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
  return client;
}

function withoutOwnBusiness(row: ObjectLiteral): Record<string, unknown> {
  return Object.fromEntries(Object.entries(row).filter(([name]) => !OWN_BUSINESS.has(name)));
}

function idsOf({ rows }: ClientTable): string[][] {
  const ids = rows.map((row) => String(row['id']));
  return Array.from({ length: Math.ceil(ids.length / CHUNK) }, (_, i) =>
    ids.slice(i * CHUNK, (i + 1) * CHUNK),
  );
}

async function empty(manager: EntityManager, table: ClientTable): Promise<number> {
  const values = KEPT[table.metadata.tableName]?.empty ?? {};
  if (Object.keys(values).length === 0) return 0;
  for (const ids of idsOf(table)) await manager.update(table.metadata.target, { id: In(ids) }, values);
  return table.rows.length;
}

async function remove(manager: EntityManager, table: ClientTable): Promise<number> {
  for (const ids of idsOf(table)) await manager.delete(table.metadata.target, { id: In(ids) });
  return table.rows.length;
}
