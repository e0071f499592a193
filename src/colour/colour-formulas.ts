import { Injectable } from '@nestjs/common';
import { type EntityManager, In } from 'typeorm';
import { Clock, DomainError, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { Visit } from '../cuts/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { CAUTIONS, ColourGate, sameProductLine } from '../skin-tests/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { percentOfVolumes, volumesOfPercent } from './developer.js';
import { ColourFormulaDto } from './dto.js';
import { ColourEffects } from './effects.js';
import { ColourFormula, ColourLine } from './entities.js';

/** A mixture with what was in it, in the order it was mixed. */
export type WholeColourFormula = {
  readonly formula: ColourFormula;
  readonly lines: readonly ColourLine[];
  /** The developer's strength as the trade says it; null without one. */
  readonly developerVolumes: number | null;
};

/** Colour formulas as they were put on; never changed afterwards. */
@Injectable()
export class ColourFormulas {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly gate: ColourGate,
    private readonly effects: ColourEffects,
  ) {}

  /** Records one mixture of a closed visit; see `recordIn`. */
  async record(visitId: string, input: unknown, actor: Actor): Promise<WholeColourFormula> {
    return await this.units.run((manager) => this.recordIn(manager, visitId, input, actor));
  }

  /**
   * Records one mixture in the caller's unit of work. Only for a visit whose colour the gate let through. The line the
   * gate was asked about then is settled; every other line in the bowl is asked about now, for the same moment and as
   * things stood then. Throws INPUT.INVALID, VISIT.NOT_FOUND, COLOUR.NO_GATE, COLOUR.DEVELOPER, and SKIN_TEST.<reason>
   * with `fields` naming the line.
   */
  async recordIn(
    manager: EntityManager,
    visitId: string,
    input: unknown,
    actor: Actor,
  ): Promise<WholeColourFormula> {
    const given = await validated(ColourFormulaDto, input);
    const developer = developerOf(given);
    const visit = await manager.findOneBy(Visit, { id: visitId });
    if (!visit) throw DomainError.notFound('VISIT.NOT_FOUND', 'visit');
    await this.requireGate(manager, visit, given);
    const formula = manager.create(ColourFormula, {
      id: newId(),
      clientId: visit.clientId,
      visitId,
      colouredOn: visit.visitOn,
      name: given.name,
      zones: given.zones,
      place: given.place,
      ...developer,
      minutes: given.minutes,
      notes: given.notes ?? '',
      recordedAt: this.clock.now(),
      recordedById: actor.accountId,
    });
    await manager.insert(ColourFormula, formula);
    const lines = given.lines.map(({ productLine, shade, parts }, i) =>
      manager.create(ColourLine, {
        id: newId(),
        formulaId: formula.id,
        position: i + 1,
        productLine,
        shade,
        parts,
      }),
    );
    await manager.insert(ColourLine, lines);
    await this.audit.record(manager, actor, {
      action: 'colour.record',
      subjectKind: 'client',
      subjectId: visit.clientId,
      details: { visitId, colourFormulaId: formula.id, lines: lines.length },
    });
    await this.effects.coloured(manager, visit.clientId);
    return whole(formula, lines);
  }

  /** A client's colour formulas, newest first. Throws CLIENT.NOT_FOUND. */
  async ofClient(clientId: string, limit = 50): Promise<WholeColourFormula[]> {
    const { manager } = this.reader;
    if (!(await manager.existsBy(Client, { id: clientId }))) {
      throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
    }
    const formulas = await manager.find(ColourFormula, {
      where: { clientId },
      order: { colouredOn: 'DESC', id: 'DESC' },
      take: limit,
    });
    const lines = await manager.find(ColourLine, {
      where: { formulaId: In(formulas.map(({ id }) => id)) },
      order: { position: 'ASC' },
    });
    return formulas.map((formula) =>
      whole(
        formula,
        lines.filter(({ formulaId }) => formulaId === formula.id),
      ),
    );
  }

  private async requireGate(
    manager: EntityManager,
    visit: Visit,
    { lines }: ColourFormulaDto,
  ): Promise<void> {
    const { colourAt, productLine: passed } = visit;
    if (colourAt == null || passed == null) {
      throw new DomainError(
        'refused',
        'COLOUR.NO_GATE',
        'This visit was not closed as a colour with a skin test that counts, so no colour can be recorded on it.',
        [],
        { cautions: CAUTIONS },
      );
    }
    for (const [i, { productLine }] of lines.entries()) {
      if (sameProductLine(productLine, passed)) continue;
      const { clientId, salonId } = visit;
      const asked = { clientId, salonId, at: colourAt, now: colourAt, productLine };
      await this.gate.check(manager, asked).catch((error: unknown) => {
        throw error instanceof DomainError ? naming(error, `lines.${i}.productLine`) : error;
      });
    }
  }
}

function naming({ kind, code, message, details }: DomainError, field: string): DomainError {
  return new DomainError(kind, code, message, [{ field, message }], details);
}

function developerOf(given: ColourFormulaDto): Pick<ColourFormula, 'developerPercent' | 'developerParts'> {
  const { developerPercent, developerVolumes, developerParts } = given;
  const wrong = (field: string, message: string) => DomainError.invalid('COLOUR.DEVELOPER', field, message);
  if (developerPercent != null && developerVolumes != null) {
    throw wrong('developerVolumes', 'Developer: give its strength in percent or in volumes, not both.');
  }
  const percent = developerPercent ?? (developerVolumes == null ? null : percentOfVolumes(developerVolumes));
  if ((percent === null) !== (developerParts == null)) {
    throw percent === null
      ? wrong('developerPercent', 'Developer: say how strong it was, or leave its parts out.')
      : wrong('developerParts', 'Parts of developer: say how much was mixed in.');
  }
  return { developerPercent: percent, developerParts: developerParts ?? null };
}

function whole(formula: ColourFormula, lines: readonly ColourLine[]): WholeColourFormula {
  const { developerPercent } = formula;
  return {
    formula,
    lines,
    developerVolumes: developerPercent === null ? null : volumesOfPercent(developerPercent),
  };
}
