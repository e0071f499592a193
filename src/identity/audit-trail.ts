import { Injectable } from '@nestjs/common';
import { In } from 'typeorm';
import { validated } from '../base/index.js';
import { Reader } from '../store/index.js';
import { type AuditVerdict, verifyAudit } from './audit-chain.js';
import { AuditQuery } from './dto.js';
import { Account, AuditEntry } from './entities.js';

export type AuditWish = {
  /** Only entries numbered below this; undefined: from the newest. */
  readonly before?: number | undefined;
  readonly accountId?: string | undefined;
  readonly subjectId?: string | undefined;
  /** Beginning of the action, such as 'client' or 'client.health'. */
  readonly action?: string | undefined;
  /** At most 200. */
  readonly limit: number;
};

export type AuditLine = AuditEntry & {
  /** Whose account it was, and whose it was about. */
  readonly who: string | null;
  readonly about: string | null;
};

/** Reading the audit trail. */
@Injectable()
export class AuditTrail {
  constructor(private readonly reader: Reader) {}

  /** Newest first. */
  async list({ before, accountId, subjectId, action, limit }: AuditWish): Promise<AuditLine[]> {
    const query = this.reader.manager
      .createQueryBuilder(AuditEntry, 'entry')
      .orderBy('entry.number', 'DESC')
      .limit(Math.min(limit, 200));
    if (before !== undefined) query.andWhere('entry.number < :before', { before });
    if (accountId) query.andWhere('entry.accountId = :accountId', { accountId });
    if (subjectId) query.andWhere('entry.subjectId = :subjectId', { subjectId });
    if (action) {
      // Between two texts rather than LIKE: what is typed may hold % and _.
      query.andWhere('entry.action >= :action AND entry.action < :end', { action, end: `${action}\uffff` });
    }
    const entries = await query.getMany();
    const ids = entries.flatMap(({ accountId: who, subjectKind, subjectId: about }) =>
      [who, subjectKind === 'account' ? about : null].filter((id) => id !== null),
    );
    const accounts = await this.reader.manager.findBy(Account, { id: In([...new Set(ids)]) });
    const names = new Map(accounts.map(({ id, name }) => [id, name]));
    return entries.map((entry) => ({
      ...entry,
      who: names.get(entry.accountId ?? '') ?? null,
      about: names.get(entry.subjectId ?? '') ?? null,
    }));
  }

  /** As somebody asks for them; `query` is an AuditQuery. Throws INPUT.INVALID. */
  async find(query: unknown, limit: number): Promise<{ lines: AuditLine[]; asked: AuditQuery }> {
    const asked = await validated(AuditQuery, query);
    const { before, who, about, what } = asked;
    const lines = await this.list({
      before: before ? Number(before) : undefined,
      accountId: who ?? undefined,
      subjectId: about ?? undefined,
      action: what ?? undefined,
      limit,
    });
    return { lines, asked };
  }

  async verify(): Promise<AuditVerdict> {
    return await verifyAudit(this.reader.manager);
  }
}
