import { Injectable } from '@nestjs/common';
import { type EntityManager, IsNull } from 'typeorm';
import { Clock, DomainError, dateIn, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { CutFormula, Visit } from '../cuts/index.js';
import { type Actor, Audit, may } from '../identity/index.js';
import { Salon, Staff } from '../salon/index.js';
import { CAUTIONS, SafetyRecords } from '../skin-tests/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { ConsultationDto } from './dto.js';
import { type ConsentGiven, Consultation, ConsultationHealth } from './entities.js';
import { type HealthFacts, healthFacts, safetyNotesFor, storedHealthFacts } from './health.js';

const EARLIEST = '1950-01-01';

/** A consultation that was recorded, and what it set off. */
export type RecordedConsultation = {
  readonly consultation: Consultation;
  /** Safety notes raised by it; each bars colour until it is settled or cleared. */
  readonly safetyNotesRaised: number;
  /** To be shown wherever a note was raised; empty otherwise. */
  readonly cautions: readonly string[];
};

/** What clients want and what must be known before a service. Each stays as it was recorded; a newer one follows it. */
@Injectable()
export class Consultations {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly safety: SafetyRecords,
  ) {}

  /**
   * Records a consultation, all or nothing with the safety notes that its scalp observations and earlier reactions
   * call for: from then on the gate bars colour. Throws INPUT.INVALID, CONSULTATION.EMPTY, .HEALTH_FORBIDDEN,
   * .NO_STYLIST, .NO_VISIT, .NO_FORMULA, .DATE, CLIENT.NOT_FOUND.
   */
  async record(input: unknown, actor: Actor): Promise<RecordedConsultation> {
    const given = await validated(ConsultationDto, input);
    const facts = healthFacts(given.health);
    if (facts) requireHealthRight(actor);
    requireSomething(given, facts);
    const now = this.clock.now();
    return await this.units.run(async (manager) => {
      const client = await requireClient(manager, given.clientId);
      const salon = await manager.findOneByOrFail(Salon, { id: client.salonId });
      const today = dateIn(salon.zone, now);
      const heldOn = requirePast(given.heldOn ?? today, today, 'heldOn');
      await requireOwn(manager, given, client);
      const consultation = manager.create(Consultation, {
        id: newId(),
        salonId: salon.id,
        clientId: client.id,
        staffId: given.staffId,
        visitId: given.visitId ?? null,
        heldOn,
        wantedShape: given.wantedShape ?? '',
        wantedFormulaId: given.wantedFormulaId ?? null,
        why: given.why ?? '',
        dailyEffortMinutes: given.dailyEffortMinutes ?? null,
        dailyEffort: given.dailyEffort ?? '',
        density: given.density ?? null,
        texture: given.texture ?? null,
        wave: given.wave ?? null,
        growthPatterns: given.growthPatterns ?? [],
        hairNotes: given.hairNotes ?? '',
        consents: consentsOf(given, heldOn, today),
        notes: given.notes ?? '',
        recordedAt: now,
        recordedById: actor.accountId,
      });
      await manager.insert(Consultation, consultation);
      if (facts) {
        await manager.insert(ConsultationHealth, {
          id: newId(),
          consultationId: consultation.id,
          facts: JSON.stringify(facts),
        });
      }
      const notes = facts ? safetyNotesFor(facts, heldOn) : [];
      for (const note of notes) await this.safety.noteIn(manager, client.id, note, actor);
      await this.trail(manager, actor, 'consultation.record', consultation, { health: facts !== undefined });
      return { consultation, safetyNotesRaised: notes.length, cautions: notes.length > 0 ? CAUTIONS : [] };
    });
  }

  /** A client's consultations without their health part, newest first. Throws CLIENT.NOT_FOUND. */
  async ofClient(clientId: string, limit = 100): Promise<Consultation[]> {
    const { manager } = this.reader;
    await requireClient(manager, clientId);
    return await manager.find(Consultation, {
      where: { clientId },
      order: { heldOn: 'DESC', id: 'DESC' },
      take: limit,
    });
  }

  /** One consultation without its health part. Throws CONSULTATION.NOT_FOUND. */
  get(id: string): Promise<Consultation> {
    return requireConsultation(this.reader.manager, id);
  }

  /**
   * Its health part; every look is audited. Throws CONSULTATION.HEALTH_FORBIDDEN, CONSULTATION.NOT_FOUND.
   */
  async health(id: string, actor: Actor): Promise<HealthFacts> {
    requireHealthRight(actor);
    return await this.units.run(async (manager) => {
      const consultation = await requireConsultation(manager, id);
      const row = await manager.findOneBy(ConsultationHealth, { consultationId: id });
      await this.trail(manager, actor, 'consultation.health.look', consultation);
      return storedHealthFacts(row?.facts);
    });
  }

  /** The newest answer of the client to each matter of consent, given or declined. Throws CLIENT.NOT_FOUND. */
  async consents(clientId: string): Promise<ConsentGiven[]> {
    const all = (await this.ofClient(clientId)).flatMap(({ consents }) => consents);
    const newestFirst = all.sort((one, other) => (one.on < other.on ? 1 : one.on > other.on ? -1 : 0));
    return newestFirst.filter(({ to }, i) => newestFirst.findIndex((other) => other.to === to) === i);
  }

  private async trail(
    manager: EntityManager,
    actor: Actor,
    action: string,
    { id, clientId }: Consultation,
    details: Record<string, boolean> = {},
  ): Promise<void> {
    await this.audit.record(manager, actor, {
      action,
      subjectKind: 'client',
      subjectId: clientId,
      details: { consultationId: id, ...details },
    });
  }
}

function requireHealthRight({ role }: Actor): void {
  if (role === 'system' || (role !== 'client' && may(role, 'client.health'))) return;
  const message = 'Health: this part is for stylists and the owner. Leave it out, or ask one of them.';
  throw new DomainError('forbidden', 'CONSULTATION.HEALTH_FORBIDDEN', message, [
    { field: 'health', message },
  ]);
}

function requireSomething(given: ConsultationDto, facts: HealthFacts | undefined): void {
  const { clientId, staffId, visitId, heldOn, health, ...said } = given;
  const hasWords = Object.values(said).some((value) =>
    Array.isArray(value) ? value.length > 0 : value != null,
  );
  if (hasWords || facts) return;
  throw DomainError.invalid(
    'CONSULTATION.EMPTY',
    'wantedShape',
    'Nothing was filled in yet. Write at least what is wanted, or what was seen.',
  );
}

async function requireClient(manager: EntityManager, id: string): Promise<Client> {
  const client = await manager.findOneBy(Client, { id });
  if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
  return client;
}

async function requireConsultation(manager: EntityManager, id: string): Promise<Consultation> {
  const consultation = await manager.findOneBy(Consultation, { id });
  if (!consultation) throw DomainError.notFound('CONSULTATION.NOT_FOUND', 'consultation');
  return consultation;
}

/** The stylist, the visit and the house formula must be this salon's and this client's. */
async function requireOwn(manager: EntityManager, given: ConsultationDto, client: Client): Promise<void> {
  const { salonId, id: clientId } = client;
  const { staffId, visitId, wantedFormulaId } = given;
  if (!(await manager.existsBy(Staff, { id: staffId, salonId }))) {
    throw DomainError.invalid(
      'CONSULTATION.NO_STYLIST',
      'staffId',
      'Stylist: choose somebody of this salon.',
    );
  }
  if (visitId && !(await manager.existsBy(Visit, { id: visitId, clientId }))) {
    throw DomainError.invalid(
      'CONSULTATION.NO_VISIT',
      'visitId',
      'Visit: name one of this client’s visits, or leave it empty.',
    );
  }
  const isHouse = { salonId, clientId: IsNull() };
  if (wantedFormulaId && !(await manager.existsBy(CutFormula, { id: wantedFormulaId, ...isHouse }))) {
    throw DomainError.invalid(
      'CONSULTATION.NO_FORMULA',
      'wantedFormulaId',
      'Wanted shape: choose one of the house formulas, or describe it in words.',
    );
  }
}

function requirePast(date: string, today: string, field: string): string {
  if (date > today || date < EARLIEST) {
    throw DomainError.invalid(
      'CONSULTATION.DATE',
      field,
      date > today
        ? 'Date: this day is still to come. Check the year.'
        : 'Date: this lies too far back. Check the year.',
    );
  }
  return date;
}

function consentsOf({ consents }: ConsultationDto, heldOn: string, today: string): ConsentGiven[] {
  return (consents ?? []).map(({ to, given, on, how }, i) => ({
    to,
    given,
    on: requirePast(on ?? heldOn, today, `consents.${i}.on`),
    how,
  }));
}
