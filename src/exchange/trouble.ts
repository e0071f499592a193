import { DomainError } from '../base/index.js';

/**
 * Why an import came to a halt, in words with a remedy; undefined for what nobody foresaw. Nothing of the batch in hand
 * was kept then, everything before it was.
 */
export function stoppedBy(error: unknown): string | undefined {
  const goOn = 'What was imported so far stays. Then go on.';
  if (error instanceof DomainError) return error.message;
  const text = error instanceof Error ? `${error.message} ${(error as { code?: string }).code ?? ''}` : '';
  if (/SQLITE_FULL|ENOSPC|EDQUOT|disk is full|No space left/i.test(text)) {
    return `The disk is full, or its quota is used up. ${goOn.replace('Then', 'Make room, then')}`;
  }
  if (/SQLITE_READONLY|SQLITE_CANTOPEN|EROFS|EACCES|readonly database|read-only/i.test(text)) {
    return `The database cannot be written to. ${goOn.replace('Then', 'Have its file and folder made writable, then')}`;
  }
  if (/SQLITE_IOERR|disk I\/O error|EFBIG|EIO/i.test(text)) {
    return `The disk could not be read or written: it may be full or broken. ${goOn.replace('Then', 'Look into that, then')}`;
  }
  if (/SQLITE_BUSY|database is locked/i.test(text)) {
    return `The database was held by another program for too long. ${goOn}`;
  }
  return undefined;
}

/** Does some work and says in words what a full disk or a closed database means. Throws IMPORT.HALTED. */
export async function orInWords<T>(work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    const words = error instanceof DomainError ? undefined : stoppedBy(error);
    throw words === undefined ? error : new DomainError('refused', 'IMPORT.HALTED', words);
  }
}
