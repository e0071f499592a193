import { Injectable } from '@nestjs/common';
import { type EntityManager, IsNull } from 'typeorm';
import { DomainError } from '../base/index.js';
import { Client } from '../clients/index.js';
import { Salon } from '../salon/index.js';
import type { ColourPermission, ColourQuestion } from './colour-question.js';
import { colourGate } from './colour-rules.js';
import { MedicalClearance, SafetyNote, type SafetyNoteKind, SkinTest } from './entities.js';

export type ColourCheck = {
  readonly clientId: string;
  readonly salonId: string;
  /** Start of the colour: the appointment's start, also when the visit is closed later. */
  readonly at: number;
  readonly now: number;
  readonly productLine?: string;
};

/** What every colour booking and every colour visit goes through. */
@Injectable()
export class ColourGate {
  /**
   * Reads through the caller's manager, so that what it finds holds for the caller's transaction.
   * Throws 'refused' SKIN_TEST.<reason> with the reason in words and
   * `details` {firstDate: date or null, firstAt: instant or null, cautions}; CLIENT.NOT_FOUND, SALON.NOT_FOUND.
   */
  async check(manager: EntityManager, check: ColourCheck): Promise<ColourPermission> {
    const verdict = colourGate(await questionOf(manager, check));
    if (verdict.allowed) return verdict;
    const fields =
      verdict.reason === 'PRODUCT_LINE_UNKNOWN' ? [{ field: 'productLine', message: verdict.words }] : [];
    throw new DomainError('refused', `SKIN_TEST.${verdict.reason}`, verdict.words, fields, {
      firstDate: verdict.firstDateThatWouldDo,
      firstAt: verdict.firstAt,
      cautions: verdict.cautions,
    });
  }
}

/** Gathers all that the gate asks about, the newest note of each kind. */
export async function questionOf(manager: EntityManager, check: ColourCheck): Promise<ColourQuestion> {
  const { clientId, salonId, at, now, productLine } = check;
  const client = await manager.findOneBy(Client, { id: clientId, salonId });
  if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
  const salon = await manager.findOneBy(Salon, { id: salonId });
  if (!salon) throw DomainError.notFound('SALON.NOT_FOUND', 'salon');
  const notes = await manager.find(SafetyNote, {
    where: { clientId, endedAt: IsNull() },
    order: { notedAt: 'DESC', id: 'DESC' },
  });
  const newest = (kind: SafetyNoteKind) => notes.find((note) => note.kind === kind) ?? null;
  return {
    tests: await manager.findBy(SkinTest, { clientId }),
    birthday: client.birthday,
    at,
    now,
    ...(productLine !== undefined && { productLine }),
    rules: { validDays: salon.skinTestValidDays, zone: salon.zone },
    medicalClearances: await manager.findBy(MedicalClearance, { clientId }),
    irritatedScalp: newest('irritated-scalp') !== null,
    blackHennaReaction: newest('black-henna-reaction'),
    colourReaction: newest('colour-reaction'),
  };
}
