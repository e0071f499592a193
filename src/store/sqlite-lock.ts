import sqlite3 from 'sqlite3';

/** Longer than any migration of a large book takes. */
const PATIENCE_MS = 600_000;

/**
 * Does `work` while no other process does work under the lock of the same file. The lock is SQLite's own on a file
 * beside it, which stays, empty: the system lets go of it when its holder dies.
 */
export async function underSqliteLock<T>(file: string, work: () => Promise<T>): Promise<T> {
  const lock = await new Promise<sqlite3.Database>((opened, failed) => {
    const database: sqlite3.Database = new sqlite3.Database(`${file}.lock`, (error) =>
      error ? failed(error) : opened(database),
    );
  });
  const run = (sql: string) =>
    new Promise<void>((done, failed) => {
      lock.run(sql, (error) => (error ? failed(error) : done()));
    });
  lock.configure('busyTimeout', PATIENCE_MS);
  try {
    await run('BEGIN EXCLUSIVE');
    return await work();
  } finally {
    await new Promise((closed) => {
      lock.close(closed);
    });
  }
}
