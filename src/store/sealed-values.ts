import type { DataSource, EntityManager, EntityMetadata } from 'typeorm';
import { KeyError, keyring, sealedWith } from './keyring.js';
import { Sealing } from './sealed-column.js';

type Place = {
  readonly table: string;
  readonly column: string;
  readonly sealing: Sealing;
};

/** Every column that is sealed at rest, of every entity. */
function places(entities: readonly EntityMetadata[]): Place[] {
  return entities.flatMap(({ tablePath, columns }) =>
    columns.flatMap(({ databaseName, transformer }) =>
      transformer instanceof Sealing
        ? [{ table: tablePath, column: databaseName, sealing: transformer }]
        : [],
    ),
  );
}

async function storedIn(
  manager: EntityManager,
  { table, column }: Place,
): Promise<{ id: string; stored: string }[]> {
  return await manager.query(
    `SELECT id, "${column}" AS stored FROM "${table}" WHERE "${column}" IS NOT NULL AND "${column}" <> ''`,
  );
}

/**
 * Refuses to go on without a key that values in the database need: better no service than notes that nobody can read
 * and that an edit would overwrite. Throws KeyError, which says plainly what is lost and what is not.
 */
export async function requireKeys(source: DataSource): Promise<void> {
  for (const place of places(source.entityMetadatas)) {
    const { table, column } = place;
    const used: { id: string }[] = await source.query(
      `SELECT DISTINCT substr("${column}", 10, 8) AS id FROM "${table}" WHERE "${column}" LIKE 'sealed:1:%'`,
    );
    const missing = used.find(({ id }) => !keyring.has(id));
    if (missing) {
      throw new KeyError(
        `Health notes in this database (${place.sealing.place}) were sealed with key ${missing.id}, and that key is ` +
          'neither in HALFINCH_KEY nor in the key file. Put it back and start again. If it is lost, these words are ' +
          'lost for good, in every backup too: nobody can open them. Everything else is intact; ' +
          '"halfinch key give-up" puts a note in their place, after which Halfinch starts again.',
      );
    }
  }
}

/** Seals everything anew that is not sealed with the current key, plain words included. Returns how many values. */
export async function sealAnew(manager: EntityManager): Promise<number> {
  return await rewrite(manager, ({ sealing }, stored) => {
    if (sealedWith(stored) === keyring.currentId) return undefined;
    return sealing.to(sealing.from(stored));
  });
}

/** Puts `words` in the place of everything whose key is lost. Returns how many values were given up. */
export async function giveUp(manager: EntityManager, words: string): Promise<number> {
  return await rewrite(manager, ({ sealing }, stored) => {
    const keyId = sealedWith(stored);
    if (keyId === undefined || keyring.has(keyId)) return undefined;
    // A secret of one-time codes that nobody knows would lock its owner out: she signs in by password and sets a new one.
    return sealing.place === 'account.totpSecret' ? null : sealing.to(words);
  });
}

async function rewrite(
  manager: EntityManager,
  renewed: (place: Place, stored: string) => unknown,
): Promise<number> {
  let count = 0;
  for (const place of places(manager.connection.entityMetadatas)) {
    for (const { id, stored } of await storedIn(manager, place)) {
      const value = renewed(place, stored);
      if (value === undefined) continue;
      await manager
        .createQueryBuilder()
        .update(place.table)
        .set({ [place.column]: () => ':value' })
        .where('id = :id', { id, value })
        .execute();
      count += 1;
    }
  }
  return count;
}
