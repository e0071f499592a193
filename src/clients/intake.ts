import { isDeepStrictEqual } from 'node:util';
import type { EntityManager } from 'typeorm';
import { validated } from '../base/index.js';
import { type Actor, type Audit } from '../identity/index.js';
import type { Salon } from '../salon/index.js';
import { insertRows, newId } from '../store/index.js';
import { checkedFields } from './checked-fields.js';
import { NewClientDto } from './dto.js';
import { Client } from './entities.js';
import { searchTextOf } from './search-text.js';

export type ClientFieldValues = Partial<Client>;

/** The fields of one client as they would be stored. Throws INPUT.INVALID or CLIENT.INVALID naming what is wrong. */
export async function checkedClient(
  manager: EntityManager,
  salon: Salon,
  given: Readonly<Record<string, unknown>>,
  now: number,
): Promise<ClientFieldValues> {
  const { salonId: _, ...checked } = await validated(NewClientDto, { ...given, salonId: salon.id });
  return await checkedFields(manager, salon, checked, now);
}

/** A client with these checked fields, not stored yet. */
export function newClient(
  manager: EntityManager,
  salonId: string,
  fields: ClientFieldValues,
  now: number,
): Client {
  const client = manager.create(Client, {
    familyName: '',
    knownAs: null,
    phone: null,
    notes: '',
    healthNotes: '',
    ...fields,
    id: newId(),
    salonId,
    addedAt: now,
    version: 1,
  });
  client.searchText = searchTextOf(client);
  return client;
}

/** Stores many new clients at once; whoever calls puts them on the trail. */
export async function insertClients(manager: EntityManager, clients: readonly Client[]): Promise<void> {
  await insertRows(manager, Client, clients);
}

function isEmpty(value: unknown): boolean {
  return value === null || value === undefined || value === '';
}

/**
 * What of `theirs` would change `ours`: `fill` takes only what is empty here, `theirs` all that is given. Health notes
 * are never replaced, only added to: what can hurt must not be lost.
 */
export function mergedFields(
  ours: Client,
  theirs: ClientFieldValues,
  how: 'fill' | 'theirs',
): ClientFieldValues {
  const { healthNotes, ...others } = theirs;
  const changes = Object.entries(others).filter(([field, value]) => {
    if (isEmpty(value)) return false;
    const mine = ours[field as keyof Client];
    return how === 'fill' ? isEmpty(mine) : !isDeepStrictEqual(mine, value);
  });
  const merged: ClientFieldValues = Object.fromEntries(changes);
  if (healthNotes && !(ours.healthNotes ?? '').includes(healthNotes)) {
    merged.healthNotes = [ours.healthNotes, healthNotes].filter(Boolean).join('\n');
  }
  return merged;
}

/** The client with these fields, found by them too. */
export function mergeInto(client: Client, changes: ClientFieldValues): Client {
  Object.assign(client, changes);
  client.searchText = searchTextOf(client);
  return client;
}

/** Stores a client whose fields were merged, and puts their names on the trail. */
export async function saveMerged(
  manager: EntityManager,
  audit: Audit,
  actor: Actor,
  client: Client,
  changes: ClientFieldValues,
): Promise<void> {
  await manager.save(mergeInto(client, changes));
  await audit.record(manager, actor, {
    action: 'client.change',
    subjectKind: 'client',
    subjectId: client.id,
    details: { fields: Object.keys(changes).join(' '), byImport: true },
  });
}
