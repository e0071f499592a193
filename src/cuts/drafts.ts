import { Injectable } from '@nestjs/common';
import { IsInt, IsOptional, IsUUID, Min } from 'class-validator';
import { type EntityManager, In } from 'typeorm';
import { Clock, DomainError, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { Account, type Actor, Audit } from '../identity/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { VisitDraft } from './entities.js';

/** A body with more than this is no visit that somebody typed. */
const MOST_BYTES = 200_000;
const MAIN = '';
/** Who keeps what the system itself could not save. */
const NOBODY = 'system';

/** What is being recorded: a booked visit, or a client's visit with a stylist that was not booked. */
export class DraftKey {
  @IsUUID('all', { message: 'clientId must name a client.' })
  clientId: string;

  @IsOptional()
  @IsUUID('all', { message: 'appointmentId must name an appointment.' })
  appointmentId?: string;

  @IsOptional()
  @IsUUID('all', { message: 'staffId must name a stylist.' })
  staffId?: string;
}

class ExpectedVersion {
  @IsOptional()
  @IsInt({ message: 'expectedVersion must be the whole number that came with the draft, or left out.' })
  @Min(1, { message: 'expectedVersion must be the whole number that came with the draft, or left out.' })
  expectedVersion?: number | null;
}

export type DraftVersion = {
  readonly version: number;
  readonly body: Record<string, unknown>;
  readonly savedAt: number;
  readonly savedById: string | null;
  /** Name of the account; null where it is gone or was the system. */
  readonly savedBy: string | null;
};

export type Draft = {
  readonly draft: DraftVersion | null;
  /** Saves that came too late, kept until whoever made them has saved again, or the visit is closed. */
  readonly setAside: readonly DraftVersion[];
};

/**
 * Visits as they are being recorded, so that a closed tab or a lost connection loses nothing. A save on top of an
 * unseen newer one is refused with both versions, and kept beside it.
 */
@Injectable()
export class Drafts {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
  ) {}

  /**
   * Saves `body` (a JSON object up to 200 kB) over the version that was read; without `expectedVersion` it is the
   * first. Saving the same again changes nothing, so a lost answer may be asked for anew. Throws INPUT.INVALID,
   * CLIENT.NOT_FOUND, DRAFT.BODY, and 'conflict' DRAFT.STALE with `details` {theirs, yours}: theirs is null when
   * the draft is no longer there (the visit was closed). Yours is then kept aside.
   */
  async save(key: unknown, body: unknown, expectedVersion: unknown, actor: Actor): Promise<DraftVersion> {
    const { clientId, ...about } = await checkedKey(key);
    const read = await validated(ExpectedVersion, { expectedVersion });
    const text = textOf(body);
    const subject = subjectOf({ clientId, ...about });
    const outcome = await this.units.run(async (manager) => {
      if (!(await manager.existsBy(Client, { id: clientId }))) {
        throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
      }
      const saved = await this.saveIn(manager, subject, clientId, text, read.expectedVersion ?? null, actor);
      return { ...saved, shown: saved.row && (await this.shown(manager, [saved.row]))[0] };
    });
    if (outcome.isSaved && outcome.shown) return outcome.shown;
    const theirs = outcome.shown ?? null;
    throw new DomainError(
      'conflict',
      'DRAFT.STALE',
      theirs
        ? `${theirs.savedBy ?? 'Somebody'} saved this visit while you had it open. Yours is kept beside it: take over what differs, then save again.`
        : 'This visit was closed or its draft was dropped while you had it open. Yours is kept: look at the visit first.',
      [],
      { theirs, yours: body },
    );
  }

  /** The draft and what was set aside; both empty where nothing is being recorded. Throws INPUT.INVALID. */
  async get(key: unknown): Promise<Draft> {
    const { manager } = this.reader;
    const rows = await manager.find(VisitDraft, {
      where: { subject: subjectOf(await checkedKey(key)) },
      order: { savedAt: 'DESC', id: 'DESC' },
    });
    const main = rows.filter(({ setAsideFor }) => setAsideFor === MAIN);
    const aside = rows.filter(({ setAsideFor }) => setAsideFor !== MAIN);
    return {
      draft: (await this.shown(manager, main))[0] ?? null,
      setAside: await this.shown(manager, aside),
    };
  }

  /** Throws the draft away, with all that was set aside. Nothing happens where there is none. */
  async drop(key: unknown, actor: Actor): Promise<void> {
    const checked = await checkedKey(key);
    await this.units.run(async (manager) => {
      const { affected } = await manager.delete(VisitDraft, { subject: subjectOf(checked) });
      if (!affected) return;
      await this.audit.record(manager, actor, {
        action: 'visit.draft.drop',
        subjectKind: 'client',
        subjectId: checked.clientId,
      });
    });
  }

  private async saveIn(
    manager: EntityManager,
    subject: string,
    clientId: string,
    body: string,
    expectedVersion: number | null,
    actor: Actor,
  ): Promise<{ readonly isSaved: boolean; readonly row: VisitDraft | null }> {
    const main = await manager.findOneBy(VisitDraft, { subject, setAsideFor: MAIN });
    const by = { savedAt: this.clock.now(), savedById: actor.accountId };
    if (main?.body === body) return { isSaved: true, row: main };
    const account = actor.accountId ?? NOBODY;
    if ((main?.version ?? null) !== expectedVersion) {
      await this.setAside(manager, { subject, setAsideFor: account, clientId, body, ...by });
      return { isSaved: false, row: main };
    }
    await manager.delete(VisitDraft, { subject, setAsideFor: account });
    if (main) return { isSaved: true, row: await manager.save(Object.assign(main, { body, ...by })) };
    // Only the first save goes on the trail: hundreds of later ones would bury everything else.
    await this.audit.record(manager, actor, {
      action: 'visit.draft',
      subjectKind: 'client',
      subjectId: clientId,
    });
    const row = manager.create(VisitDraft, {
      id: newId(),
      subject,
      setAsideFor: MAIN,
      clientId,
      body,
      ...by,
    });
    return { isSaved: true, row: await manager.save(row) };
  }

  private async setAside(
    manager: EntityManager,
    late: Pick<VisitDraft, 'subject' | 'setAsideFor' | 'clientId' | 'body' | 'savedAt' | 'savedById'>,
  ): Promise<void> {
    const { subject, setAsideFor } = late;
    const before = await manager.findOneBy(VisitDraft, { subject, setAsideFor });
    await manager.save(
      before ? Object.assign(before, late) : manager.create(VisitDraft, { id: newId(), ...late }),
    );
  }

  private async shown(manager: EntityManager, rows: readonly VisitDraft[]): Promise<DraftVersion[]> {
    const ids = rows.flatMap(({ savedById }) => savedById ?? []);
    const accounts = await manager.find(Account, {
      where: { id: In(ids) },
      select: { id: true, name: true },
    });
    return rows.map(({ version, body, savedAt, savedById }) => ({
      version,
      body: bodyOf(body),
      savedAt,
      savedById,
      savedBy: accounts.find(({ id }) => id === savedById)?.name ?? null,
    }));
  }
}

/** Drops what was being recorded of a visit, in the unit of work that closes it. */
export async function dropDrafts(
  manager: EntityManager,
  visit: { readonly clientId: string; readonly staffId: string; readonly appointmentId?: string | null },
): Promise<void> {
  const { clientId, staffId, appointmentId } = visit;
  const subject = appointmentId ? subjectOf({ clientId, appointmentId }) : subjectOf({ clientId, staffId });
  await manager.delete(VisitDraft, { subject });
}

async function checkedKey(key: unknown): Promise<DraftKey> {
  const checked = await validated(DraftKey, key);
  if ((checked.appointmentId === undefined) === (checked.staffId === undefined)) {
    throw DomainError.invalid(
      'DRAFT.KEY',
      'appointmentId',
      'Name the appointment that is recorded or, without one, the stylist (staffId).',
    );
  }
  return checked;
}

function subjectOf({ clientId, appointmentId, staffId }: DraftKey): string {
  return `${clientId} ${appointmentId === undefined ? `with ${staffId}` : `at ${appointmentId}`}`;
}

/** Throws DRAFT.BODY for what is no JSON object, nested beyond what can be written, or too large. */
function textOf(body: unknown): string {
  const wrong = (message: string) => DomainError.invalid('DRAFT.BODY', 'body', message);
  if (typeof body !== 'object' || body === null || Array.isArray(body)) {
    throw wrong('body must be an object with named fields.');
  }
  let text: string;
  try {
    text = JSON.stringify(body);
  } catch {
    throw wrong('body is nested too deeply, or into itself. Send plain fields and lists.');
  }
  if (Buffer.byteLength(text) > MOST_BYTES) throw wrong('body: a draft can hold at most 200,000 bytes.');
  return text;
}

/** Where the key was lost and given up, words stand in its place. */
function bodyOf(text: string): Record<string, unknown> {
  try {
    return JSON.parse(text);
  } catch {
    return { lost: text };
  }
}
