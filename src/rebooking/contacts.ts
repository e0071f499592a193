import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';

/** The last time the salon had to do with a client. */
export type Contact = {
  /** Milliseconds since 1970 in UTC. */
  readonly at: number;
  /** In plain words, such as 'visit' or 'reminder by mail'. */
  readonly what: string;
};

/** Newest contact of each of these clients that a room knows of. */
export type ContactSource = (
  manager: EntityManager,
  clientIds: readonly string[],
) => Promise<ReadonlyMap<string, Contact>>;

/** Lets later rooms, which send and receive messages, tell the due list of them; they register when their module starts. */
@Injectable()
export class Contacts {
  private readonly sources: ContactSource[] = [];

  register(source: ContactSource): void {
    this.sources.push(source);
  }

  async newest(manager: EntityManager, clientIds: readonly string[]): Promise<Map<string, Contact>> {
    const newest = new Map<string, Contact>();
    for (const source of this.sources) {
      for (const [clientId, contact] of await source(manager, clientIds)) {
        if (contact.at > (newest.get(clientId)?.at ?? Number.NEGATIVE_INFINITY)) {
          newest.set(clientId, contact);
        }
      }
    }
    return newest;
  }
}
