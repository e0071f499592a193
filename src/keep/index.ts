export { type BackupManifest, type MadeBackup, makeBackup } from './backup.js';
export { sqliteFileOf } from './database-of.js';
export { type ExportManifest, exportArchive } from './export-archive.js';
export { importArchive } from './import-archive.js';
export { forgetExpired, keptIn, lastDueAt } from './kept-backups.js';
export { identitiesIn, type Lock, newBackupKey, type Opening } from './locks.js';
export { restoreBackup, verifyBackup } from './restore.js';
export { faultsOf, photoNamesOf } from './sqlite-file.js';
export { troubleWith } from './trouble.js';
