import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, DomainError, dateIn, dayBounds, isDate } from '../base/index.js';
import { Client } from '../clients/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon, Service, Staff } from '../salon/index.js';
import { ColourGate } from '../skin-tests/index.js';
import { keysetPage, newId, type Page, type PageAsked } from '../store/index.js';
import { dropDrafts } from './drafts.js';
import { CutFormula, Measurement, Visit } from './entities.js';
import { Formulas } from './formulas.js';
import { GrowthProfiles, MEASURING_SD_MM } from './growth-profiles.js';
import { standingLengths } from './standing-lengths.js';
import type { VisitInput } from './visit.input.js';

@Injectable()
export class Visits {
  constructor(
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly formulas: Formulas,
    private readonly profiles: GrowthProfiles,
    private readonly colourGate: ColourGate,
  ) {}

  /**
   * Closes a visit in the caller's unit of work: measurements teach the growth profile, then the formula as cut
   * becomes what stands on the head. Throws VISIT.* for a date in the future, before the last visit or for
   * people and services that don't go together, and SKIN_TEST.* for a colour without a valid test. `startedAt` is when
   * the hands were laid on; now when nobody knows better.
   */
  async close(
    manager: EntityManager,
    input: VisitInput,
    actor: Actor,
    startedAt: number = this.clock.now(),
  ): Promise<Visit> {
    const { client, staff, service, salon } = await this.parties(manager, input);
    const now = this.clock.now();
    const today = dateIn(salon.zone, now);
    const visitOn = requireVisitDate(input.visitOn ?? today, today);
    const { endsAt: dayEndsAt } = dayBounds(salon.zone, visitOn);
    // What is written down days later was done on its day at the latest.
    const colourAt = service.kind === 'colour' ? Math.min(startedAt, now, dayEndsAt - 1) : null;
    if (colourAt !== null) {
      await this.colourGate.check(manager, {
        clientId: client.id,
        salonId: salon.id,
        at: colourAt,
        now,
        ...(input.productLine !== undefined && { productLine: input.productLine }),
      });
    }
    const before = await this.formulas.current(manager, client.id);
    if (before?.formula.cutOn && visitOn < before.formula.cutOn) {
      throw DomainError.invalid(
        'VISIT.BEFORE_LAST',
        'visitOn',
        `This client was cut on ${before.formula.cutOn}; a visit cannot be added before that.`,
      );
    }
    await requireOwnFormula(manager, input, salon.id, client.id);
    const lessons = await this.profiles.learn(
      manager,
      client.id,
      before?.lengths ?? [],
      input.measurements ?? [],
      visitOn,
    );
    const formulaId = input.formula
      ? await this.formulas.write(
          manager,
          { salonId: salon.id, clientId: client.id, basedOnId: input.basedOnId ?? null, cutOn: visitOn },
          input.formula,
          standingLengths(input.formula.lengths, before?.lengths ?? [], lessons, visitOn),
        )
      : null;
    const visit = manager.create(Visit, {
      id: newId(),
      salonId: salon.id,
      clientId: client.id,
      staffId: staff.id,
      serviceId: service.id,
      appointmentId: input.appointmentId ?? null,
      formulaId,
      visitOn,
      closedAt: now,
      dayEndsAt,
      priceMinor: input.priceMinor ?? service.priceMinor,
      notes: input.notes ?? '',
      colourAt,
      productLine: colourAt === null ? null : (input.productLine ?? null),
      suggestedEarliestOn: null,
      suggestedDueOn: null,
      suggestedLatestOn: null,
    });
    await manager.insert(Visit, visit);
    await dropDrafts(manager, visit);
    await manager.insert(
      Measurement,
      lessons.map(({ measurement, note }) => ({
        id: newId(),
        clientId: client.id,
        visitId: visit.id,
        zone: measurement.zone,
        lengthMm: measurement.lengthMm,
        sdMm: MEASURING_SD_MM[measurement.tool],
        tool: measurement.tool,
        measuredOn: visitOn,
        verdict: note,
      })),
    );
    await this.audit.record(manager, actor, {
      action: 'visit.close',
      subjectKind: 'client',
      subjectId: client.id,
      details: { visitId: visit.id, measured: lessons.length, cut: formulaId !== null },
    });
    return visit;
  }

  /** A client's visits, newest first. */
  ofClient(manager: EntityManager, clientId: string, limit = 100): Promise<Visit[]> {
    return manager.find(Visit, { where: { clientId }, order: { visitOn: 'DESC', id: 'DESC' }, take: limit });
  }

  /** A page of a client's visits, newest first. */
  async page(manager: EntityManager, clientId: string, asked: PageAsked): Promise<Page<Visit>> {
    const query = manager
      .createQueryBuilder(Visit, 'visit')
      .where('visit.clientId = :clientId', { clientId });
    return await keysetPage(query, ['visitOn', 'id'], 'DESC', asked);
  }

  /** Measurements of those visits, oldest first. */
  measurements(manager: EntityManager, clientId: string): Promise<Measurement[]> {
    return manager.find(Measurement, { where: { clientId }, order: { measuredOn: 'ASC', id: 'ASC' } });
  }

  private async parties(manager: EntityManager, input: VisitInput) {
    const client = await manager.findOneBy(Client, { id: input.clientId });
    const staff = await manager.findOneBy(Staff, { id: input.staffId });
    const service = await manager.findOneBy(Service, { id: input.serviceId });
    if (!client)
      throw DomainError.invalid('VISIT.NO_CLIENT', 'clientId', 'Choose a client; this one is not known.');
    if (staff?.salonId !== client.salonId) {
      throw DomainError.invalid('VISIT.NO_STYLIST', 'staffId', 'Choose a stylist of this salon.');
    }
    if (service?.salonId !== client.salonId) {
      throw DomainError.invalid('VISIT.NO_SERVICE', 'serviceId', 'Choose a service of this salon.');
    }
    const salon = await manager.findOneByOrFail(Salon, { id: client.salonId });
    return { client, staff, service, salon };
  }
}

function requireVisitDate(visitOn: string, today: string): string {
  if (!isDate(visitOn)) {
    throw DomainError.invalid('VISIT.NO_DATE', 'visitOn', 'visitOn must be a real date such as 2026-05-14.');
  }
  if (visitOn > today) {
    throw DomainError.invalid(
      'VISIT.IN_FUTURE',
      'visitOn',
      `A visit can't be closed before it has been: ${visitOn} is after today, ${today}.`,
    );
  }
  return visitOn;
}

/** A formula may be copied from the client's own or from the house's, never from another client's. */
async function requireOwnFormula(
  manager: EntityManager,
  input: VisitInput,
  salonId: string,
  clientId: string,
): Promise<void> {
  if (input.basedOnId === undefined) return;
  const source = await manager.findOneBy(CutFormula, { id: input.basedOnId, salonId });
  if (!source || (source.clientId !== null && source.clientId !== clientId)) {
    throw DomainError.invalid(
      'VISIT.NO_SOURCE',
      'basedOnId',
      'Choose one of this client’s formulas or one of the house to start from.',
    );
  }
}
