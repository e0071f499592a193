import type { DataSource, EntityManager } from 'typeorm';

/** Which of the two databases this is, where one statement cannot serve both. */
export const isPostgres = (where: EntityManager | DataSource): boolean =>
  ('connection' in where ? where.connection : where).options.type === 'postgres';
