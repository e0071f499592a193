import { DomainError } from '../base/index.js';

/** Codes by which the system and SQLite say that nothing more fits. */
const FULL = new Set(['ENOSPC', 'EDQUOT', 'EFBIG', 'SQLITE_FULL']);
const CLOSED = new Set(['EROFS', 'EACCES', 'EPERM', 'SQLITE_READONLY', 'SQLITE_CANTOPEN', 'SQLITE_PERM']);

type Raised = {
  readonly code?: unknown;
  readonly path?: unknown;
  readonly syscall?: unknown;
  readonly driverError?: unknown;
};

function coded(error: unknown): { code: string; path: string | undefined } | undefined {
  const { code, path, syscall, driverError } = (error ?? {}) as Raised;
  if (driverError !== undefined) return coded(driverError);
  if (typeof code !== 'string') return undefined;
  // On a disk that is mounted read-only Node says of a folder it cannot make that it is missing.
  const told = code === 'ENOENT' && syscall === 'mkdir' ? 'EROFS' : code;
  // Names of our own folders for work in hand tell nobody anything.
  return { code: told, path: typeof path === 'string' && !path.includes('/.') ? path : undefined };
}

/**
 * Says in plain words what a full disk, a folder that is closed or a file that is missing means and what to do; any
 * other error comes back as it is. `what` was being done ("The backup"), `where` is the folder meant.
 */
export function troubleWith(error: unknown, what: string, where: string): unknown {
  const raised = coded(error);
  if (error instanceof DomainError || raised === undefined) return error;
  const { code } = raised;
  const place = raised.path ?? where;
  if (FULL.has(code)) {
    return new DomainError(
      'refused',
      'KEEP.DISK_FULL',
      `${what} stopped because the disk of ${where} is full. Nothing that was there is changed. Make room and run it again.`,
    );
  }
  if (CLOSED.has(code)) {
    return new DomainError(
      'refused',
      'KEEP.NOT_WRITABLE',
      `${what} stopped: ${place} cannot be opened or written by this user. Nothing that was there is changed. ` +
        'Give this user the right, or choose another folder, and run it again.',
    );
  }
  if (code === 'EEXIST' || code === 'ENOTDIR') {
    return DomainError.invalid(
      'KEEP.NOT_A_FOLDER',
      'folder',
      `${what} stopped: ${place} is a file, not a folder.`,
    );
  }
  if (code === 'ENOENT') {
    return new DomainError('not-found', 'KEEP.NOT_FOUND', `${what} stopped: there is no ${place}.`);
  }
  if (code.startsWith('SQLITE_IOERR')) {
    return new DomainError(
      'refused',
      'KEEP.DISK_FAILS',
      `${what} stopped because the disk of ${where} could not be read or written: it may be full or broken. ` +
        'Look into that, then run it again.',
    );
  }
  if (code === 'SQLITE_CORRUPT' || code === 'SQLITE_NOTADB') {
    return new DomainError(
      'refused',
      'KEEP.DATABASE_DAMAGED',
      `${what} stopped: the database in ${where} is damaged. Restore the newest backup into a fresh folder.`,
    );
  }
  return error;
}
