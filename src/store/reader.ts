import type { DataSource, EntityManager } from 'typeorm';

/** Reads what is committed, on a connection of its own that cannot write. */
export class Reader {
  constructor(private readonly source: DataSource) {}

  get manager(): EntityManager {
    return this.source.manager;
  }
}
