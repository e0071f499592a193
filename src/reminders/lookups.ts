import { Injectable } from '@nestjs/common';
import type { EntityTarget, ObjectLiteral } from 'typeorm';
import { Appointment } from '../book/index.js';
import { Client, Consent } from '../clients/index.js';
import { Salon, Service, Staff } from '../salon/index.js';
import { InBatches, Reader, rowsBy } from '../store/index.js';
import { MessageRules, SalonTemplate } from './entities.js';

const ADDRESSEE = ['id', 'givenName', 'knownAs', 'email', 'phone', 'language', 'salonId'] as const;

export type Addressee = Pick<Client, (typeof ADDRESSEE)[number]>;

/** Records that messages speak of, as they stand now; those in hand at the same time are fetched together. */
@Injectable()
export class Lookups {
  readonly appointment: (id: string) => Promise<Appointment | undefined>;
  /** Only what a message may know. */
  readonly client: (id: string) => Promise<Addressee | undefined>;
  readonly salon: (id: string) => Promise<Salon | undefined>;
  readonly staff: (id: string) => Promise<Staff | undefined>;
  readonly service: (id: string) => Promise<Service | undefined>;
  readonly consents: (clientId: string) => Promise<Consent[]>;
  readonly rules: (salonId: string) => Promise<MessageRules | undefined>;
  /** Every salon's own words that count now. */
  readonly ownTemplates: (salonId: string) => Promise<SalonTemplate[]>;

  constructor(private readonly reader: Reader) {
    this.appointment = this.one(Appointment, 'id');
    this.client = this.one(Client, 'id', ADDRESSEE);
    this.salon = this.one(Salon, 'id');
    this.staff = this.one(Staff, 'id');
    this.service = this.one(Service, 'id');
    this.consents = this.many(Consent, 'clientId');
    this.rules = this.one(MessageRules, 'salonId');
    const templates = this.many(SalonTemplate, 'salonId');
    this.ownTemplates = async (salonId) => newestOnly(await templates(salonId));
  }

  private one<T extends ObjectLiteral>(
    entity: EntityTarget<T>,
    key: keyof T & string,
    only?: readonly (keyof T & string)[],
  ) {
    const all = this.many(entity, key, only);
    return async (id: string): Promise<T | undefined> => (await all(id))[0];
  }

  private many<T extends ObjectLiteral>(
    entity: EntityTarget<T>,
    key: keyof T & string,
    only?: readonly (keyof T & string)[],
  ) {
    const batches = new InBatches<string, T[]>(async (ids) => {
      const rows = await rowsBy(this.reader.manager, entity, key, [...new Set(ids)], only);
      const of = new Map(ids.map((id): [string, T[]] => [id, []]));
      for (const row of rows) of.get(row[key])?.push(row);
      return ids.map((id) => of.get(id) ?? []);
    });
    return (id: string) => batches.do(id);
  }
}

function newestOnly(templates: readonly SalonTemplate[]): SalonTemplate[] {
  const newest = new Map<string, SalonTemplate>();
  for (const template of templates) {
    const key = `${template.kind} ${template.channel} ${template.language}`;
    if ((newest.get(key)?.number ?? 0) < template.number) newest.set(key, template);
  }
  return [...newest.values()];
}
