import 'reflect-metadata';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { MIGRATIONS } from '../../migrations/index.js';
import { ENTITIES } from '../entities.js';
import { isPhotoName } from '../photos/index.js';
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
  readSettings,
  type Settings,
  sealAnew,
  sealFilesAnew,
  writeKeyFile,
} from '../store/index.js';

const USAGE = `Usage: node dist/src/cli/key.js new | rotate | give-up
Stop Halfinch first: a running process knows only the keys it started with.
  new      prints a fresh key for HALFINCH_KEY or a key file; changes nothing
  rotate   makes a fresh key, seals everything with it and forgets the old ones. With HALFINCH_KEY put the fresh key
           first ("new,old") yourself; then drop the old one from it
  give-up  when a key is lost for good: puts a note in the place of what nobody can open any more`;

const GIVEN_UP = 'These words were sealed with a key that is lost. Ask the client again.';

async function withDatabase(work: Parameters<typeof transaction>[1]): Promise<number> {
  const settings = readSettings(process.env);
  return await transaction(settings, work);
}

async function transaction(
  { database, pool }: Settings,
  work: (manager: Parameters<typeof sealAnew>[0]) => Promise<number>,
): Promise<number> {
  const writer = await openWriter(database, ENTITIES, MIGRATIONS, pool);
  try {
    const count = await writer.transaction(work);
    // The old words would live on in the write-ahead log.
    if (!isPostgres(writer)) await writer.query('PRAGMA wal_checkpoint(TRUNCATE)');
    return count;
  } finally {
    await writer.destroy();
  }
}

async function sealPhotosAnew(): Promise<number> {
  return await sealFilesAnew(join(readSettings(process.env).dataDir, 'photos'), isPhotoName);
}

/**
 * The fresh key is on the disk, beside the old ones, before anything is sealed with it, and the old ones go only
 * after everything is: whenever this is cut short, the file opens every value.
 */
async function rotate(): Promise<void> {
  const { healthKey, keyFile } = readSettings(process.env);
  if (healthKey !== undefined) {
    keyring.use(loadKeys({ key: healthKey, keyFile }));
    const count = await withDatabase(sealAnew);
    console.log(
      `Sealed ${count} values with key ${keyring.currentId}. Drop the other keys from HALFINCH_KEY.`,
    );
    return;
  }
  if (!existsSync(keyFile)) throw new KeyError(`There is no key file at ${keyFile}.`);
  const fresh = newKeyText();
  writeKeyFile(keyFile, [fresh, ...readKeyFile(keyFile)]);
  keyring.use(loadKeys({ keyFile }));
  const count = (await withDatabase(sealAnew)) + (await sealPhotosAnew());
  writeKeyFile(keyFile, [fresh]);
  console.log(
    `Sealed ${count} values with key ${keyring.currentId}. Put the new key file where you keep the old one; the old ` +
      'key opens backups made before today.',
  );
}

async function lose(): Promise<void> {
  const { healthKey, keyFile } = readSettings(process.env);
  keyring.use(loadKeys({ key: healthKey, keyFile }));
  const count = await withDatabase((manager) => giveUp(manager, GIVEN_UP));
  console.log(`Gave up ${count} values that no key here opens; a note stands in their place.`);
}

const COMMANDS: Readonly<Record<string, () => Promise<void>>> = {
  new: async () => {
    const text = newKeyText();
    console.log(text);
    console.error(`Key ${keyFrom(text).id}. Keep it apart from the database and its backups.`);
  },
  rotate,
  'give-up': lose,
};

const command = COMMANDS[process.argv[2] ?? ''];
if (command) {
  await command().catch((error: unknown) => {
    console.error(error instanceof Error ? error.message : error);
    process.exitCode = 1;
  });
} else {
  console.error(USAGE);
  process.exitCode = 2;
}
