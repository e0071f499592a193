import { isDeepStrictEqual } from 'node:util';
import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, DomainError, validated } from '../base/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import { loadForEdit, newId, Reader, UnitOfWork } from '../store/index.js';
import { checkedFields } from './checked-fields.js';
import { ClientEffects } from './client-effects.js';
import { ClientChangeDto, ConsentDto, NewClientDto } from './dto.js';
import { type Channel, Client, Consent, type Purpose } from './entities.js';
import { newClient } from './intake.js';
import { mayAct } from './may-act.js';
import { type PossibleDouble, possibleDoubles } from './possible-doubles.js';
import { searchClients } from './search.js';
import { searchTextOf } from './search-text.js';

const NEWEST_FIRST = { at: 'DESC', id: 'DESC' } as const;
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
    private readonly effects: ClientEffects = new ClientEffects(),
  ) {}

  /** Throws INPUT.INVALID or CLIENT.INVALID naming the fields, SALON.NOT_FOUND, CLIENT.HEALTH_FORBIDDEN. */
  async add(input: unknown, actor: Actor): Promise<SavedClient> {
    const wanted = await validated(NewClientDto, input);
    const { id } = await this.units.run((manager) => this.addIn(manager, wanted, actor));
    return await this.saved(id);
  }

  /** Throws what `add` would throw for this input, and writes nothing. */
  async check(wanted: NewClientDto, actor: Actor): Promise<void> {
    const { salonId, ...given } = wanted;
    requireHealthRight(given.healthNotes, actor);
    const { manager } = this.reader;
    await checkedFields(manager, await salonOf(manager, salonId), given, this.clock.now());
  }

  /** As `add`, in the caller's unit of work. */
  async addIn(manager: EntityManager, wanted: NewClientDto, actor: Actor): Promise<Client> {
    const { salonId, ...given } = wanted;
    requireHealthRight(given.healthNotes, actor);
    const now = this.clock.now();
    const salon = await salonOf(manager, salonId);
    const fields = await checkedFields(manager, salon, given, now);
    const client = newClient(manager, salonId, fields, now);
    await manager.insert(Client, client);
    await this.audit.record(manager, actor, {
      action: 'client.add',
      subjectKind: 'client',
      subjectId: client.id,
      details: { fields: Object.keys(fields).join(' ') },
    });
    await this.effects.added(manager, [client]);
    return client;
  }

  /**
   * Changes the fields that are given. `expectedVersion` is the one the editor read: throws CLIENT.STALE when
   * somebody saved since, and then changes nothing.
   */
  async change(id: string, input: unknown, actor: Actor): Promise<SavedClient> {
    const { expectedVersion, ...given } = await validated(ClientChangeDto, input);
    requireHealthRight(given.healthNotes, actor);
    await this.units.run(async (manager) => {
      const client = await loadForEdit(manager, Client, id, CLIENT, expectedVersion);
      if (given.healthNotes !== undefined) client.healthNotes = await storedHealthNotes(manager, id);
      const salon = await salonOf(manager, client.salonId);
      const fields = await checkedFields(manager, salon, given, this.clock.now());
      const changed = Object.entries(fields).filter(
        ([field, value]) => !isDeepStrictEqual(client[field as keyof Client], value),
      );
      if (changed.length === 0) return;
      Object.assign(client, Object.fromEntries(changed));
      client.searchText = searchTextOf(client);
      await manager.save(client);
      await this.audit.record(manager, actor, {
        action: 'client.change',
        subjectKind: 'client',
        subjectId: id,
        details: { fields: changed.map(([field]) => field).join(' ') },
      });
      await this.effects.changed(manager, client);
    });
    return await this.saved(id);
  }

  /** Throws CLIENT.NOT_FOUND. */
  async get(id: string): Promise<ClientRecord> {
    const client = await this.reader.manager.findOneBy(Client, { id });
    if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
    return client;
  }

  /**
   * Up to `limit` (1 to 200) clients whose names or phone number match, best first; see `searchClients`.
   */
  search(salonId: string, text: string, limit = 20): Promise<ClientRecord[]> {
    const bounded = Math.min(Math.max(Math.trunc(limit) || 1, 1), 200);
    return searchClients(this.reader.manager, salonId, text, bounded);
  }

  /** The health notes; every look is audited. Throws CLIENT.HEALTH_FORBIDDEN, CLIENT.NOT_FOUND. */
  async healthNotes(id: string, actor: Actor): Promise<string> {
    requireHealthRight('', actor);
    return await this.units.run(async (manager) => {
      const notes = await storedHealthNotes(manager, id);
      await this.audit.record(manager, actor, {
        action: 'client.health.look',
        subjectKind: 'client',
        subjectId: id,
      });
      return notes;
    });
  }

  /** Records an answer; earlier ones stay on record. Throws CLIENT.NOT_FOUND, INPUT.INVALID. */
  async setConsent(clientId: string, input: unknown, actor: Actor): Promise<Consent> {
    const [consent] = await this.setConsents(clientId, [input], actor);
    return consent!;
  }

  /** The same for several answers at once, all of them or none. */
  async setConsents(clientId: string, inputs: readonly unknown[], actor: Actor): Promise<Consent[]> {
    const answers: ConsentDto[] = [];
    for (const input of inputs) answers.push(await validated(ConsentDto, input));
    return await this.units.run(async (manager) => {
      if (!(await manager.existsBy(Client, { id: clientId }))) {
        throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
      }
      const consents: Consent[] = [];
      for (const { channel, purpose, given, source } of answers) {
        const consent = manager.create(Consent, {
          id: newId(),
          clientId,
          channel,
          purpose,
          given,
          at: this.clock.now(),
          source: source ?? (actor.role === 'client' ? 'link' : 'desk'),
          recordedById: actor.accountId,
        });
        await manager.insert(Consent, consent);
        await this.audit.record(manager, actor, {
          action: 'client.consent',
          subjectKind: 'client',
          subjectId: clientId,
          details: { channel, purpose, given },
        });
        consents.push(consent);
      }
      return consents;
    });
  }

  /** The answer that counts for each channel and purpose that was asked about. */
  async consents(clientId: string): Promise<Consent[]> {
    const all = await this.reader.manager.find(Consent, { where: { clientId }, order: NEWEST_FIRST });
    return all.filter(
      (consent, i) =>
        all.findIndex((other) => other.channel === consent.channel && other.purpose === consent.purpose) ===
        i,
    );
  }

  /** Whether the newest answer is yes. Somebody who was never asked has not said yes. */
  async mayMessage(
    manager: EntityManager,
    clientId: string,
    channel: Channel,
    purpose: Purpose,
  ): Promise<boolean> {
    const [newest] = await manager.find(Consent, {
      where: { clientId, channel, purpose },
      order: NEWEST_FIRST,
      take: 1,
    });
    return newest?.given ?? false;
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

async function storedHealthNotes(manager: EntityManager, id: string): Promise<string> {
  const row = await manager.findOne(Client, { where: { id }, select: { id: true, healthNotes: true } });
  if (!row) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
  return row.healthNotes;
}

async function salonOf(manager: EntityManager, salonId: string): Promise<Salon> {
  const salon = await manager.findOneBy(Salon, { id: salonId });
  if (!salon) throw DomainError.notFound('SALON.NOT_FOUND', 'salon');
  return salon;
}
