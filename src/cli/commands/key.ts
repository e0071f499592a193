import { existsSync } from 'node:fs';
import { join } from 'node:path';
import type { Command } from 'commander';
import { MIGRATIONS } from '../../../migrations/index.js';
import { ENTITIES } from '../../entities.js';
import { isImportPiece } from '../../exchange/index.js';
import { isPhotoName } from '../../photos/index.js';
import {
  giveUp,
  isPostgres,
  KeyError,
  keyFrom,
  keyring,
  loadKeys,
  newKeyText,
  openWriter,
  readKeyFile,
  type Settings,
  sealAnew,
  sealFilesAnew,
  UnitOfWork,
  writeKeyFile,
} from '../../store/index.js';
import { acts, shows, type Told } from '../told.js';

const GIVEN_UP = 'These words were sealed with a key that is lost. Ask the client again.';

async function transaction(
  { database, pool }: Settings,
  work: (manager: Parameters<typeof sealAnew>[0]) => Promise<number>,
): Promise<number> {
  const writer = await openWriter(database, ENTITIES, MIGRATIONS, pool);
  try {
    const count = await new UnitOfWork(writer).run(work);
    // The old words would live on in the write-ahead log.
    if (!isPostgres(writer)) await writer.query('PRAGMA wal_checkpoint(TRUNCATE)');
    return count;
  } finally {
    await writer.destroy();
  }
}

/**
 * The fresh key is on the disk, beside the old ones, before anything is sealed with it, and the old ones go only
 * after everything is: whenever this is cut short, the file opens every value.
 */
async function rotate(settings: Settings): Promise<Told> {
  const { healthKey, keyFile, dataDir } = settings;
  const sealEverything = async (): Promise<number> =>
    (await transaction(settings, sealAnew)) +
    (await sealFilesAnew(join(dataDir, 'photos'), isPhotoName)) +
    (await sealFilesAnew(join(dataDir, 'imports'), isImportPiece));
  if (healthKey !== undefined) {
    keyring.use(loadKeys({ key: healthKey, keyFile }));
    const count = await sealEverything();
    const line = `Sealed ${count} values with key ${keyring.currentId}. Drop the other keys from HALFINCH_KEY.`;
    return { lines: [line], data: { sealed: count, keyId: keyring.currentId } };
  }
  if (!existsSync(keyFile)) throw new KeyError(`There is no key file at ${keyFile}.`);
  const fresh = newKeyText();
  writeKeyFile(keyFile, [fresh, ...readKeyFile(keyFile)]);
  keyring.use(loadKeys({ keyFile }));
  const count = await sealEverything();
  writeKeyFile(keyFile, [fresh]);
  const line =
    `Sealed ${count} values with key ${keyring.currentId}. Put the new key file where you keep the old one; the old ` +
    'key opens backups made before today.';
  return { lines: [line], data: { sealed: count, keyId: keyring.currentId } };
}

async function lose(settings: Settings): Promise<Told> {
  const { healthKey, keyFile } = settings;
  keyring.use(loadKeys({ key: healthKey, keyFile }));
  const count = await transaction(settings, (manager) => giveUp(manager, GIVEN_UP));
  const line = `Gave up ${count} values that no key here opens; a note stands in their place.`;
  return { lines: [line], data: { givenUp: count } };
}

export function addKey(program: Command): void {
  const key = program.command('key').description('look after the key of the health words');
  const fresh = key
    .command('new')
    .description('Prints a fresh key for HALFINCH_KEY or a key file; changes nothing.');
  acts(fresh, async (): Promise<Told> => {
    const text = newKeyText();
    const { id } = keyFrom(text);
    console.error(`Key ${id}. Keep it apart from the database and its backups.`);
    return { lines: [text], data: { key: text, keyId: id } };
  });
  shows(fresh, 'halfinch key new > /key/halfinch.key');
  const turned = key
    .command('rotate')
    .description(
      'Makes a fresh key, seals everything with it and forgets the old ones. Stop Halfinch first: a running process ' +
        'knows only the keys it started with. With HALFINCH_KEY put the fresh key first ("new,old") yourself; then drop ' +
        'the old one from it.',
    );
  acts(turned, rotate);
  shows(turned, 'halfinch key rotate');
  const given = key
    .command('give-up')
    .description(
      'When a key is lost for good: puts a note in the place of what nobody can open any more. Stop Halfinch first.',
    );
  acts(given, lose);
  shows(given, 'halfinch key give-up');
}
