import { Injectable } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { type Appointment, Book, combinedService, type Offered, servicesOf } from '../book/index.js';
import { type ClientRecord, Clients } from '../clients/index.js';
import { Formulas, type WholeFormula } from '../cuts/index.js';
import type { Principal } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { Front, type Setting } from './front.js';

/** Who sits in the chair, for what. */
export type Sitting = Setting & {
  readonly appointment: Appointment;
  readonly client: ClientRecord;
  /** All that is done in the sitting, as one. */
  readonly service: Offered;
};

@Injectable()
export class VisitSittings {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly clients: Clients,
    private readonly book: Book,
    private readonly formulas: Formulas,
  ) {}

  async of(principal: Principal, appointmentId: string): Promise<Sitting> {
    const setting = await this.front.setting(principal);
    const appointment = await this.book.get(appointmentId);
    const client = await this.clients.get(appointment.clientId);
    const all = await this.salons.services(setting.salon.id);
    const services = servicesOf(appointment).flatMap((id) => all.find((one) => one.id === id) ?? []);
    if (services.length === 0) throw DomainError.notFound('SERVICE.NOT_FOUND', 'service');
    return { ...setting, appointment, client, service: combinedService(services) };
  }

  /** The formula to start from: the one named, the client's last, or nothing for 'none'. Never another client's. */
  async source(sitting: Sitting, from: string | undefined): Promise<WholeFormula | undefined> {
    const { manager } = this.reader;
    if (from === 'none') return undefined;
    if (from === undefined || from === '') return await this.formulas.current(manager, sitting.client.id);
    const whole = await this.formulas.read(manager, from);
    const { clientId, salonId } = whole.formula;
    if (salonId !== sitting.salon.id || (clientId !== null && clientId !== sitting.client.id)) {
      throw DomainError.notFound('CUT.NOT_FOUND', 'cut formula');
    }
    return whole;
  }
}
