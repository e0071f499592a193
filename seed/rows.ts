import type { EntityManager } from 'typeorm';
import { Appointment, Claim } from '../src/book/index.js';
import { Client, Consent } from '../src/clients/index.js';
import {
  CutFormula,
  CutStep,
  GrowthRecord,
  HoldLimitRow,
  Measurement,
  Visit,
  ZoneLength,
  ZoneLink,
} from '../src/cuts/index.js';
import { Account } from '../src/identity/index.js';
import { ShapeWindow } from '../src/rebooking/index.js';
import { Message } from '../src/reminders/index.js';
import { Closure, OpeningHours, Resource, RotaEntry, Salon, Service, Staff } from '../src/salon/index.js';
import { SkinTest } from '../src/skin-tests/index.js';
import { insertRows } from '../src/store/index.js';

/** Every row of the demo, by table. Nothing is in the database before all of it is made. */
export class Rows {
  readonly accounts: Account[] = [];
  readonly salons: Salon[] = [];
  readonly openingHours: OpeningHours[] = [];
  readonly staff: Staff[] = [];
  readonly rota: RotaEntry[] = [];
  readonly closures: Closure[] = [];
  readonly resources: Resource[] = [];
  readonly services: Service[] = [];
  readonly clients: Client[] = [];
  readonly consents: Consent[] = [];
  readonly skinTests: SkinTest[] = [];
  readonly formulas: CutFormula[] = [];
  readonly steps: CutStep[] = [];
  readonly lengths: ZoneLength[] = [];
  readonly links: ZoneLink[] = [];
  readonly limits: HoldLimitRow[] = [];
  readonly appointments: Appointment[] = [];
  readonly claims: Claim[] = [];
  readonly visits: Visit[] = [];
  readonly measurements: Measurement[] = [];
  readonly growth: GrowthRecord[] = [];
  readonly windows: ShapeWindow[] = [];
  readonly messages: Message[] = [];

  /** Writes all tables, those that others point at first. */
  async insertInto(manager: EntityManager): Promise<void> {
    await insertRows(manager, Account, this.accounts);
    await insertRows(manager, Salon, this.salons);
    await insertRows(manager, OpeningHours, this.openingHours);
    await insertRows(manager, Staff, this.staff);
    await insertRows(manager, RotaEntry, this.rota);
    await insertRows(manager, Closure, this.closures);
    await insertRows(manager, Resource, this.resources);
    await insertRows(manager, Service, this.services);
    await insertRows(manager, Client, this.clients);
    await insertRows(manager, Consent, this.consents);
    await insertRows(manager, SkinTest, this.skinTests);
    await insertRows(manager, CutFormula, this.formulas);
    await insertRows(manager, CutStep, this.steps);
    await insertRows(manager, ZoneLength, this.lengths);
    await insertRows(manager, ZoneLink, this.links);
    await insertRows(manager, HoldLimitRow, this.limits);
    await insertRows(manager, Appointment, this.appointments);
    await insertRows(manager, Claim, this.claims);
    await insertRows(manager, Visit, this.visits);
    await insertRows(manager, Measurement, this.measurements);
    await insertRows(manager, GrowthRecord, this.growth);
    await insertRows(manager, ShapeWindow, this.windows);
    await insertRows(manager, Message, this.messages);
  }
}
