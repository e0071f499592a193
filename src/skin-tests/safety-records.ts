import { Injectable } from '@nestjs/common';
import { type EntityManager, IsNull } from 'typeorm';
import { Clock, DomainError, dateIn, dateInWords, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { newId, UnitOfWork } from '../store/index.js';
import { questionOf } from './colour-gate.js';
import { ClearanceDto, SafetyNoteDto } from './dto.js';
import { MedicalClearance, SafetyNote } from './entities.js';
import { reactionsIn } from './personal-bar.js';
import { isCovered } from './reactions.js';

/** What bars colour outside our own skin tests, and the documented medical word that lifts a bar. */
@Injectable()
export class SafetyRecords {
  constructor(
    private readonly units: UnitOfWork,
    private readonly clock: Clock,
    private readonly audit: Audit,
  ) {}

  /** Notes an earlier reaction or an irritated scalp; bars colour from now on. Throws INPUT.INVALID, CLIENT.NOT_FOUND. */
  async note(clientId: string, input: unknown, actor: Actor): Promise<SafetyNote> {
    return await this.units.run((manager) => this.noteIn(manager, clientId, input, actor));
  }

  /** The same in the caller's unit of work. */
  async noteIn(manager: EntityManager, clientId: string, input: unknown, actor: Actor): Promise<SafetyNote> {
    const { kind, told } = await validated(SafetyNoteDto, input);
    await requireClient(manager, clientId);
    const note = manager.create(SafetyNote, {
      id: newId(),
      clientId,
      kind,
      told,
      notedAt: this.clock.now(),
      notedById: actor.accountId,
      endedAt: null,
    });
    await manager.insert(SafetyNote, note);
    await this.trail(manager, actor, 'skin-test.note', clientId);
    return note;
  }

  /** Ends every note of an irritated scalp: it was looked at and has settled. Throws SKIN_TEST.SCALP_NOT_NOTED. */
  async scalpSettled(clientId: string, actor: Actor): Promise<void> {
    await this.units.run(async (manager) => {
      await requireClient(manager, clientId);
      const { affected } = await manager.update(
        SafetyNote,
        { clientId, kind: 'irritated-scalp', endedAt: IsNull() },
        { endedAt: this.clock.now() },
      );
      if (affected === 0) {
        throw new DomainError(
          'conflict',
          'SKIN_TEST.SCALP_NOT_NOTED',
          'No irritated scalp is on record now.',
        );
      }
      await this.trail(manager, actor, 'skin-test.scalp-settled', clientId);
    });
  }

  /**
   * Records a doctor's written word after a reaction. Throws SKIN_TEST.OWNER_ONLY for anybody but an owner,
   * SKIN_TEST.NOTHING_TO_CLEAR, and SKIN_TEST.DOCUMENT_DATE when the document is still to come or older than a
   * reaction it should answer.
   */
  async clear(clientId: string, input: unknown, actor: Actor): Promise<MedicalClearance> {
    if (actor.role !== 'owner') {
      throw new DomainError(
        'forbidden',
        'SKIN_TEST.OWNER_ONLY',
        'Only the owner may record a medical clearance. Please ask the owner to see the document.',
      );
    }
    const { documentedOn, issuedBy, says } = await validated(ClearanceDto, input);
    const now = this.clock.now();
    return await this.units.run(async (manager) => {
      const { salonId } = await requireClient(manager, clientId);
      const question = await questionOf(manager, { clientId, salonId, at: now, now });
      const { ours, henna } = reactionsIn(question);
      const open = [...ours, ...henna].filter((reaction) => !isCovered(reaction, question.medicalClearances));
      if (open.length === 0) {
        throw new DomainError(
          'conflict',
          'SKIN_TEST.NOTHING_TO_CLEAR',
          'No reaction is on record that waits for a medical clearance.',
        );
      }
      requireDocumentDate(documentedOn, dateIn(question.rules.zone, now), open);
      const clearance = manager.create(MedicalClearance, {
        id: newId(),
        clientId,
        documentedOn,
        issuedBy,
        says,
        recordedAt: now,
        recordedById: actor.accountId,
      });
      await manager.insert(MedicalClearance, clearance);
      await this.trail(manager, actor, 'skin-test.clear', clientId);
      return clearance;
    });
  }

  private async trail(manager: EntityManager, actor: Actor, action: string, clientId: string): Promise<void> {
    await this.audit.record(manager, actor, { action, subjectKind: 'client', subjectId: clientId });
  }
}

async function requireClient(manager: EntityManager, clientId: string): Promise<Client> {
  const client = await manager.findOneBy(Client, { id: clientId });
  if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
  return client;
}

function requireDocumentDate(
  documentedOn: string,
  today: string,
  open: readonly { readonly happenedOn: string | null }[],
): void {
  const wrong = (message: string) => DomainError.invalid('SKIN_TEST.DOCUMENT_DATE', 'documentedOn', message);
  if (documentedOn > today) throw wrong('Date of the document: this date is still to come. Check the year.');
  const reactedOn =
    open
      .map((reaction) => reaction.happenedOn ?? '')
      .sort()
      .at(-1) ?? '';
  if (documentedOn < reactedOn) {
    throw wrong(
      `Date of the document: it is older than the reaction of ${dateInWords(reactedOn)}. A newer document is needed.`,
    );
  }
}
