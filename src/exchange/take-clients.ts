import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { DomainError } from '../base/index.js';
import {
  Client,
  ClientEffects,
  checkedClient,
  foldName,
  insertClients,
  mergedFields,
  mergeInto,
  newClient,
  saveMerged,
} from '../clients/index.js';
import { Audit } from '../identity/index.js';
import { Salons, type Staff } from '../salon/index.js';
import { insertRows, newId } from '../store/index.js';
import { type NamedClient, namedClient, whoOf } from './client-cells.js';
import { ClientLookup, type KnownClient, knownClients, nameKey, rowsByKey } from './client-lookup.js';
import { ImportedRow } from './entities.js';
import { clientNumberKey, fullName } from './find-client.js';
import { lengthCell, staffNamed } from './named-things.js';
import type { ImportRecord } from './records.js';
import { RowCells } from './row-cells.js';
import { digestOf } from './row-keys.js';
import { refusedBy, type Taken, type Taker, type Taking } from './taking.js';

type ReadClient = {
  readonly record: ImportRecord;
  readonly who: string;
  readonly named: NamedClient;
  readonly fields: Partial<Client>;
  readonly key: string;
  readonly digest: string;
};

/** What is to be written once every row of the batch is judged. */
type Writing = {
  readonly clients: Client[];
  readonly rows: ImportedRow[];
  readonly fresh: Map<string, Client>;
};

/**
 * Clients from a sheet or from cards. Who is here already is found by the key of an earlier import, else by phone or
 * mail with the same given name, else by name and birthday; the settings say what then happens.
 */
@Injectable()
export class TakeClients implements Taker {
  readonly batchRows = 500;

  constructor(
    private readonly salons: Salons,
    private readonly audit: Audit,
    private readonly effects: ClientEffects,
  ) {}

  async take(manager: EntityManager, records: readonly ImportRecord[], taking: Taking): Promise<Taken[]> {
    const staff = await this.salons.staff(taking.salon.id);
    const read: (ReadClient | Taken)[] = [];
    // One by one: all of it is asked on the unit's one connection.
    for (const record of records) read.push(await readClient(manager, record, taking, staff));
    const good = read.filter((row): row is ReadClient => 'key' in row);
    const known = await rowsByKey(manager, taking.salon.id, 'clients', [
      ...new Set(good.map(({ key }) => key)),
    ]);
    const lookup = await ClientLookup.of(manager, taking.salon.id, {
      phones: good.flatMap(({ fields }) => fields.phone ?? []),
      emails: good.flatMap(({ fields }) => fields.email ?? []),
      born: good.flatMap(({ named: { givenName, familyName, birthday } }) =>
        birthday ? [{ givenName, familyName, birthday }] : [],
      ),
      names: [],
    });
    const ids = [...known.values()].map(({ clientId }) => clientId);
    for (const client of await knownClients(manager, taking.salon.id, ids)) lookup.add(client);
    const writing: Writing = { clients: [], rows: [], fresh: new Map() };
    const taken: Taken[] = [];
    for (const row of read) {
      taken.push('key' in row ? await this.judge(manager, row, { taking, known, lookup, writing }) : row);
    }
    await insertClients(manager, writing.clients);
    await this.effects.added(manager, writing.clients);
    await insertRows(manager, ImportedRow, writing.rows);
    return taken;
  }

  private async judge(
    manager: EntityManager,
    row: ReadClient,
    batch: {
      taking: Taking;
      known: Map<string, ImportedRow>;
      lookup: ClientLookup;
      writing: Writing;
    },
  ): Promise<Taken> {
    const { taking, known, lookup, writing } = batch;
    const { who } = row;
    const before = known.get(row.key);
    const client = before && lookup.get(before.clientId);
    if (before && client) {
      const again = before.runId === taking.runId && before.rowNumber !== row.record.row;
      if (before.digest === row.digest) {
        const words = again ? `The same as row ${before.rowNumber}.` : 'Imported before; nothing new.';
        return { outcome: 'same', words, clientId: client.id, who };
      }
      const reason = again ? `the same client number as row ${before.rowNumber}` : 'imported before';
      return await this.merge(manager, row, client, reason, batch, before);
    }
    const earlier = earlierRow(row, taking);
    try {
      const double = findDouble(row, lookup);
      if (double) return await this.merge(manager, row, double.client, double.reason, batch);
      if (earlier !== undefined) return mergedUnseen(taking, earlier, row);
      const shares = sharing(row, lookup);
      if (shares && taking.settings.onShared === 'refuse') {
        throw DomainError.invalid(
          'IMPORT.SHARED',
          shares.field,
          `${fullName(shares.client)} has the same ${shares.field === 'phone' ? 'phone' : 'mail address'}, but another name. If they are two people, choose that such rows are added; if not, mend the name.`,
        );
      }
      const fresh = newClient(manager, taking.salon.id, row.fields, taking.now);
      writing.clients.push(fresh);
      writing.fresh.set(fresh.id, fresh);
      lookup.add(fresh);
      this.remember(writing, known, row, fresh.id, taking);
      for (const key of seenKeys(row)) taking.seen?.note(key, row.record.row);
      const contact = shares?.field === 'phone' ? 'phone' : 'mail address';
      const words = shares ? `Shares a ${contact} with ${fullName(shares.client)}.` : '';
      return { outcome: 'new', words, ...(!taking.seen && { clientId: fresh.id }), who };
    } catch (error) {
      return refusedBy(error, who);
    }
  }

  private async merge(
    manager: EntityManager,
    row: ReadClient,
    known: KnownClient,
    reason: string,
    batch: { taking: Taking; known: Map<string, ImportedRow>; lookup: ClientLookup; writing: Writing },
    before?: ImportedRow,
  ): Promise<Taken> {
    const { who } = row;
    const { taking, writing } = batch;
    const { onDouble } = taking.settings;
    const firstRow = await rowInRun(manager, known.id, taking.runId, writing);
    const here =
      firstRow === undefined || firstRow === row.record.row
        ? `${fullName(known)} is here already (${reason})`
        : `The same person as row ${firstRow} (${reason})`;
    if (onDouble === 'skip')
      return { outcome: 'skipped', words: `${here}; left out.`, clientId: known.id, who };
    if (before) await this.rememberAnew(manager, before, row, taking);
    else this.remember(writing, batch.known, row, known.id, taking);
    const fresh = writing.fresh.get(known.id);
    // What a check added is taken back: nobody could look it up.
    const said = taking.seen && fresh ? {} : { clientId: known.id };
    if (onDouble === 'keep') return { outcome: 'same', words: `${here}; ours is kept.`, ...said, who };
    const ours = fresh ?? (await wholeClient(manager, known.id));
    const changes = mergedFields(ours, row.fields, onDouble);
    const names = Object.keys(changes);
    if (names.length === 0) return { outcome: 'same', words: `${here}; nothing to add.`, ...said, who };
    if (fresh) mergeInto(fresh, changes);
    else {
      await saveMerged(manager, this.audit, taking.actor, ours, changes);
      await this.effects.changed(manager, ours);
    }
    batch.lookup.learn(Object.assign(known, changes));
    return {
      outcome: 'changed',
      words: `${here}; takes over ${names.map(inWords).join(', ')}.`,
      ...said,
      who,
    };
  }

  private remember(
    writing: Writing,
    known: Map<string, ImportedRow>,
    row: ReadClient,
    clientId: string,
    taking: Taking,
  ): void {
    if (known.has(row.key)) return;
    const line = Object.assign(new ImportedRow(), {
      id: newId(),
      salonId: taking.salon.id,
      clientId,
      subjectId: clientId,
      kind: 'clients' as const,
      rowKey: row.key,
      digest: row.digest,
      runId: taking.runId,
      rowNumber: row.record.row,
      takenAt: taking.now,
    });
    known.set(row.key, line);
    writing.rows.push(line);
  }

  private async rememberAnew(
    manager: EntityManager,
    before: ImportedRow,
    row: ReadClient,
    { runId, now }: Taking,
  ): Promise<void> {
    Object.assign(before, { digest: row.digest, runId, rowNumber: row.record.row, takenAt: now });
    const { digest, rowNumber, takenAt } = before;
    await manager.update(ImportedRow, { id: before.id }, { digest, runId, rowNumber, takenAt });
  }
}

async function readClient(
  manager: EntityManager,
  record: ImportRecord,
  { salon, reading, settings, now }: Taking,
  staff: readonly Staff[],
): Promise<ReadClient | Taken> {
  const row = new RowCells(record, reading);
  const named = namedClient(row, salon.phoneRegion);
  const who = whoOf(named);
  if (record.problem !== undefined) return { outcome: 'refused', words: record.problem, who };
  try {
    const stylist = staffNamed(row, staff);
    const circumference = lengthCell(row, 'headCircumference', settings.units);
    if (named.givenName === '') row.wrong('name', 'this row has no name. Write at least a given name.');
    const given: Record<string, unknown> = {
      givenName: named.givenName || '?',
      familyName: named.familyName,
      phone: named.phone,
      email: named.email,
      birthday: named.birthday,
      knownAs: row.text('knownAs'),
      language: row.text('language'),
      preferredStaffId: stylist?.id,
      notes: row.text('notes'),
      healthNotes: row.text('healthNotes'),
      headCircumferenceMm: circumference,
    };
    const told = Object.fromEntries(
      Object.entries(given).filter(([, value]) => value !== '' && value !== undefined),
    );
    // All that is wrong with a row is said at once.
    const fields = await checkedClient(manager, salon, told, now).catch((error: unknown) => {
      if (!(error instanceof DomainError)) throw error;
      for (const { field, message } of error.fields) row.note(field, message);
      return {};
    });
    row.requireNone();
    const identity = [nameKey(named.givenName, named.familyName), named.phone, named.email, named.birthday];
    const key = named.number ? clientNumberKey(named.number) : digestOf(['client', ...identity]);
    return { record, who, named, fields, key, digest: digestOf([fields]) };
  } catch (error) {
    return refusedBy(error, who);
  }
}

type Double = { readonly client: KnownClient; readonly reason: string };

/** The one client who is the same person. Throws IMPORT.WHICH_CLIENT, or IMPORT.OTHER_BIRTHDAY. */
function findDouble({ fields, named }: ReadClient, lookup: ClientLookup): Double | undefined {
  const given = foldName(named.givenName);
  const sameGiven = (client: KnownClient) =>
    foldName(client.givenName) === given || foldName(client.knownAs ?? '') === given;
  const found = new Map<KnownClient, string>();
  for (const client of lookup.withNameAndBirthday(named.givenName, named.familyName, named.birthday)) {
    found.set(client, 'same name and birthday');
  }
  const contacts: readonly (readonly [string, readonly KnownClient[]])[] = [
    ['same mail address', lookup.withEmail(fields.email ?? undefined)],
    ['same phone', lookup.withPhone(fields.phone ?? undefined)],
  ];
  for (const [reason, clients] of contacts) {
    for (const client of clients.filter(sameGiven)) if (!found.has(client)) found.set(client, reason);
  }
  const [first, ...more] = found;
  if (!first) return undefined;
  const [client, reason] = first;
  if (more.length > 0) {
    throw DomainError.invalid(
      'IMPORT.WHICH_CLIENT',
      'name',
      `${found.size} clients here could be the same person: ${[...found.keys()].map(fullName).join(', ')}. Settle that first, or leave this row out.`,
    );
  }
  if (client.birthday && named.birthday && client.birthday !== named.birthday) {
    throw DomainError.invalid(
      'IMPORT.OTHER_BIRTHDAY',
      'birthday',
      `${fullName(client)} is here with the ${reason}, but another birthday. Find out which is right, then mend it here or there.`,
    );
  }
  return { client, reason };
}

/** Somebody of another name at the same phone or mail. */
function sharing(
  { fields }: ReadClient,
  lookup: ClientLookup,
): { client: KnownClient; field: 'phone' | 'email' } | undefined {
  const [byPhone] = lookup.withPhone(fields.phone ?? undefined);
  if (byPhone) return { client: byPhone, field: 'phone' };
  const [byMail] = lookup.withEmail(fields.email ?? undefined);
  return byMail && { client: byMail, field: 'email' };
}

/** By what a later batch of a check would know this row again. */
function seenKeys({ named, fields, key }: ReadClient): string[] {
  const given = foldName(named.givenName);
  return [
    key,
    ...(fields.phone ? [`phone ${fields.phone} ${given}`] : []),
    ...(fields.email ? [`mail ${fields.email} ${given}`] : []),
    ...(fields.birthday ? [`born ${fields.birthday} ${nameKey(named.givenName, named.familyName)}`] : []),
  ];
}

/** In a check: the row of an earlier batch, of which nothing was kept, that is the same person. */
function earlierRow(row: ReadClient, { seen }: Taking): number | undefined {
  if (!seen) return undefined;
  const rows = seenKeys(row).map((key) => seen.find(key));
  // Its own row is there when the database had a batch done twice.
  return rows.find((found) => found !== undefined && found !== row.record.row);
}

/** What a check says of a double inside the file whose first row is no longer at hand. */
function mergedUnseen({ settings }: Taking, row: number, { who }: ReadClient): Taken {
  const here = `The same person as row ${row}`;
  const said = {
    skip: { outcome: 'skipped', words: `${here}; left out.` },
    keep: { outcome: 'same', words: `${here}, which is kept.` },
    fill: { outcome: 'changed', words: `${here}; fills what is empty there.` },
    theirs: { outcome: 'changed', words: `${here}; takes its place.` },
  } as const;
  return { ...said[settings.onDouble], who };
}

/** The row of this very import that brought a client; undefined for everybody who was here before. */
async function rowInRun(
  manager: EntityManager,
  clientId: string,
  runId: string,
  { rows }: Writing,
): Promise<number | undefined> {
  const here = rows.find((row) => row.clientId === clientId);
  if (here) return here.rowNumber;
  const [first] = await manager.find(ImportedRow, {
    where: { clientId, runId, kind: 'clients' },
    order: { rowNumber: 'ASC' },
    take: 1,
  });
  return first?.rowNumber;
}

/** With the health notes, which are left out of every load that does not ask for them. */
async function wholeClient(manager: EntityManager, id: string): Promise<Client> {
  const client = await manager.findOneByOrFail(Client, { id });
  const row = await manager.findOne(Client, { where: { id }, select: { id: true, healthNotes: true } });
  client.healthNotes = row?.healthNotes ?? '';
  return client;
}

function inWords(field: string): string {
  return field === 'preferredStaffId'
    ? 'preferred stylist'
    : field
        .replace(/Mm$/, '')
        .replace(/([a-z])([A-Z])/g, '$1 $2')
        .toLowerCase();
}
