import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, DomainError, validated } from '../base/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import { loadForEdit, newId, Reader, UnitOfWork } from '../store/index.js';
import { checkedFields } from './checked-fields.js';
import { ClientChangeDto, NewClientDto } from './dto.js';
import { Client } from './entities.js';
import { mayAct } from './may-act.js';
import { type PossibleDouble, possibleDoubles } from './possible-doubles.js';
import { searchTextOf } from './search-text.js';

const CLIENT = { code: 'CLIENT', name: 'client' } as const;

/** A client without the health notes, which are read and audited on their own. */
export type ClientRecord = Omit<Client, 'healthNotes'>;

export type SavedClient = {
  readonly client: ClientRecord;
  /** Who may be the same person; a warning, nothing was refused for it. */
  readonly possibleDoubles: readonly PossibleDouble[];
};

@Injectable()
export class Clients {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
  ) {}

  /** Throws INPUT.INVALID or CLIENT.INVALID naming the fields, SALON.NOT_FOUND, CLIENT.HEALTH_FORBIDDEN. */
  async add(input: unknown, actor: Actor): Promise<SavedClient> {
    const { salonId, ...given } = await validated(NewClientDto, input);
    requireHealthRight(given.healthNotes, actor);
    const now = this.clock.now();
    const id = newId();
    await this.units.run(async (manager) => {
      const salon = await salonOf(manager, salonId);
      const fields = await checkedFields(manager, salon, given, now);
      const client = manager.create(Client, {
        familyName: '',
        knownAs: null,
        phone: null,
        notes: '',
        healthNotes: '',
        ...fields,
        id,
        salonId,
        addedAt: now,
      });
      client.searchText = searchTextOf(client);
      await manager.insert(Client, client);
      await this.audit.record(manager, actor, {
        action: 'client.add',
        subjectKind: 'client',
        subjectId: id,
        details: { fields: Object.keys(fields).join(' ') },
      });
    });
    return await this.saved(id);
  }

  /**
   * Changes the fields that are given. `expectedVersion` is the one the editor read: throws CLIENT.STALE when somebody
   * saved since, and then changes nothing.
   */
  async change(id: string, input: unknown, actor: Actor): Promise<SavedClient> {
    const { expectedVersion, ...given } = await validated(ClientChangeDto, input);
    requireHealthRight(given.healthNotes, actor);
    await this.units.run(async (manager) => {
      const client = await loadForEdit(manager, Client, id, CLIENT, expectedVersion);
      const salon = await salonOf(manager, client.salonId);
      const fields = await checkedFields(manager, salon, given, this.clock.now());
      Object.assign(client, fields);
      client.searchText = searchTextOf(client);
      await manager.save(client);
      await this.audit.record(manager, actor, {
        action: 'client.change',
        subjectKind: 'client',
        subjectId: id,
        details: { fields: Object.keys(fields).join(' ') },
      });
    });
    return await this.saved(id);
  }

  /** Throws CLIENT.NOT_FOUND. */
  async get(id: string): Promise<ClientRecord> {
    const client = await this.reader.manager.findOneBy(Client, { id });
    if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
    return client;
  }

  private async saved(id: string): Promise<SavedClient> {
    const client = await this.reader.manager.findOneByOrFail(Client, { id });
    return { client, possibleDoubles: await possibleDoubles(this.reader.manager, client) };
  }
}

function requireHealthRight(healthNotes: string | null | undefined, actor: Actor): void {
  if (healthNotes !== undefined && !mayAct(actor, 'client.health')) {
    throw new DomainError(
      'forbidden',
      'CLIENT.HEALTH_FORBIDDEN',
      'Health notes are for stylists and the owner. Please ask one of them.',
      [
        {
          field: 'healthNotes',
          message: 'Health notes: leave them out; a stylist or the owner can write them.',
        },
      ],
    );
  }
}

async function salonOf(manager: EntityManager, salonId: string): Promise<Salon> {
  const salon = await manager.findOneBy(Salon, { id: salonId });
  if (!salon) throw DomainError.notFound('SALON.NOT_FOUND', 'salon');
  return salon;
}
