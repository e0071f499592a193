export { carryOutDue, carryOutOne, type Delivery, type DispatchTally } from './carry-out.js';
export {
  DateColumn,
  EditableRow,
  FlagColumn,
  IdColumn,
  InstantColumn,
  IntColumn,
  JsonColumn,
  MmColumn,
  RefColumn,
  Row,
  TextColumn,
  TimeColumn,
  WordsColumn,
} from './columns.js';
export { isPostgres } from './dialect.js';
export { newId } from './ids.js';
export { InBatches } from './in-batches.js';
export { insertRows } from './insert-rows.js';
export { fileSealedWith, KeyError, keyFrom, keyring, newKeyText } from './keyring.js';
export { type Key, keysetPage, type Page, type PageAsked } from './keyset.js';
export { Leases, type OwedRow, type Taken } from './leases.js';
export { loadForEdit } from './load-for-edit.js';
export { loadKeys, readKeyFile, writeKeyFile } from './load-keys.js';
export { MoveError } from './move/move-error.js';
export { type MovedTable, moveToPostgres, type VerifiedTable } from './move/move-to-postgres.js';
export { Reader } from './reader.js';
export { connectRedis } from './redis.js';
export { type KeptAnswer, KeyInHand, RequestKey, RequestKeys } from './request-keys.js';
export { rowsBy } from './rows-by.js';
export { SealedColumn, Sealing } from './sealed-column.js';
export { sealFilesAnew } from './sealed-files.js';
export { giveUp, sealAnew } from './sealed-values.js';
export { derivedSecret, secretFor } from './secrets.js';
export { readSettings, type Settings, SettingsError, type TextGatewaySettings } from './settings.js';
export { Shared } from './shared.js';
export {
  gatherStatistics,
  heedStatistics,
  isPostgresUrl,
  openSources,
  openWriter,
  type Sources,
  writerSource,
} from './sources.js';
export { SETTINGS, StoreModule, type StoreOptions } from './store.module.js';
export { Turn, Turns } from './turns.js';
export { type UnitGuard, UnitOfWork } from './unit-of-work.js';
