import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { DomainError, dateIn, dayBounds } from '../base/index.js';
import type { Zone } from '../engine/zones.js';
import type { Salon, Service, Staff } from '../salon/index.js';
import { ColourGate } from '../skin-tests/index.js';
import { newId } from '../store/index.js';
import { Visit, ZoneLength } from './entities.js';
import { Formulas } from './formulas.js';
import { standingLengths } from './standing-lengths.js';

const MOST_NOTES = 4000;

/** A visit as other records have it; the cut that belongs to it may follow. */
export type PastVisit = {
  readonly clientId: string;
  readonly staff: Staff;
  readonly service: Service;
  /** 'YYYY-MM-DD'. */
  readonly visitOn: string;
  readonly priceMinor: number | undefined;
  readonly notes: string;
  readonly productLine: string | undefined;
};

/** The lengths a visit left, in mm. */
export type PastLengths = {
  readonly visit: Visit;
  readonly name: string;
  readonly notes: string;
  readonly lengths: readonly { readonly zone: Zone; readonly leftMm: number }[];
};

/** Visits and cuts of the time before this book was kept. Nothing is taught to growth and nobody is owed anything. */
@Injectable()
export class PastVisits {
  constructor(
    private readonly formulas: Formulas,
    private readonly colourGate: ColourGate,
  ) {}

  /**
   * The visit, not stored yet. A colour goes through the gate as any other does. Throws VISIT.IN_FUTURE and
   * SKIN_TEST.*.
   */
  async prepared(manager: EntityManager, salon: Salon, past: PastVisit, now: number): Promise<Visit> {
    const { clientId, staff, service, visitOn, productLine } = past;
    if (visitOn > dateIn(salon.zone, now)) {
      throw DomainError.invalid(
        'VISIT.IN_FUTURE',
        'date',
        `Date: ${visitOn} is still to come. What is booked ahead is an appointment.`,
      );
    }
    const { endsAt: dayEndsAt } = dayBounds(salon.zone, visitOn);
    const closedAt = Math.min(now, dayEndsAt - 1);
    const colourAt = service.kind === 'colour' ? closedAt : null;
    if (colourAt !== null) {
      const salonId = salon.id;
      const line = productLine === undefined ? {} : { productLine };
      await this.colourGate.check(manager, { clientId, salonId, at: colourAt, now, ...line });
    }
    return manager.create(Visit, {
      id: newId(),
      salonId: salon.id,
      clientId,
      staffId: staff.id,
      serviceId: service.id,
      appointmentId: null,
      formulaId: null,
      visitOn,
      closedAt,
      dayEndsAt,
      priceMinor: past.priceMinor ?? service.priceMinor,
      notes: past.notes.slice(0, MOST_NOTES),
      colourAt,
      productLine: colourAt === null ? null : (productLine ?? null),
      suggestedEarliestOn: null,
      suggestedDueOn: null,
      suggestedLatestOn: null,
    });
  }

  async store(manager: EntityManager, visits: readonly Visit[]): Promise<void> {
    if (visits.length > 0) await manager.insert(Visit, [...visits]);
  }

  /** Writes the cut that a stored visit left, and returns its id. Throws VISIT.HAS_CUT, CUT.* for lengths no shape has. */
  async storeLengths(manager: EntityManager, { visit, name, notes, lengths }: PastLengths): Promise<string> {
    if (visit.formulaId !== null) {
      throw DomainError.invalid(
        'VISIT.HAS_CUT',
        'date',
        'Date: the visit of this day has its cut on record already.',
      );
    }
    const { salonId, clientId, visitOn: cutOn } = visit;
    const input = {
      name: name.slice(0, 120),
      notes: notes.slice(0, MOST_NOTES),
      steps: [],
      lengths: [...lengths],
    };
    const formulaId = await this.formulas.write(
      manager,
      { salonId, clientId, basedOnId: null, cutOn },
      input,
      standingLengths(lengths, [], [], cutOn),
    );
    await manager.update(Visit, { id: visit.id }, { formulaId });
    visit.formulaId = formulaId;
    return formulaId;
  }

  /** Adds a zone to a cut that storeLengths wrote. */
  async addLength(
    manager: EntityManager,
    formulaId: string,
    cutOn: string,
    length: { readonly zone: Zone; readonly leftMm: number },
  ): Promise<void> {
    const [standing] = standingLengths([length], [], [], cutOn);
    if (standing) await manager.insert(ZoneLength, { ...standing, id: newId(), formulaId });
  }
}
