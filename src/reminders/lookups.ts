import { Injectable } from '@nestjs/common';
import { type EntityTarget, In, type ObjectLiteral } from 'typeorm';
import { Appointment } from '../book/index.js';
import { Client, Consent } from '../clients/index.js';
import { Salon, Service, Staff } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { MessageRules, SalonTemplate } from './entities.js';
import { InBatches } from './in-batches.js';

export type Addressee = Pick<
  Client,
  'id' | 'givenName' | 'knownAs' | 'email' | 'phone' | 'language' | 'salonId'
>;

const ADDRESSEE = {
  id: true,
  givenName: true,
  knownAs: true,
  email: true,
  phone: true,
  language: true,
  salonId: true,
} as const;

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
    this.client = this.one<Client>(Client, 'id', ADDRESSEE);
    this.salon = this.one(Salon, 'id');
    this.staff = this.one(Staff, 'id');
    this.service = this.one(Service, 'id');
    this.consents = this.many(Consent, 'clientId');
    this.rules = this.one(MessageRules, 'salonId');
    const templates = this.many(SalonTemplate, 'salonId');
    this.ownTemplates = async (salonId) => newestOnly(await templates(salonId));
  }

  private one<T extends ObjectLiteral>(entity: EntityTarget<T>, key: keyof T & string, select?: object) {
    const all = this.many(entity, key, select);
    return async (id: string): Promise<T | undefined> => (await all(id))[0];
  }

  private many<T extends ObjectLiteral>(entity: EntityTarget<T>, key: keyof T & string, select?: object) {
    const batches = new InBatches<string, T[]>(async (ids) => {
      const rows = await this.reader.manager.find(entity, {
        where: { [key]: In([...new Set(ids)]) } as never,
        ...(select && { select: select as never }),
      });
      return ids.map((id) => rows.filter((row) => row[key] === id));
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
