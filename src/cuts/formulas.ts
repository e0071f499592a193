import { Injectable } from '@nestjs/common';
import { type EntityManager, IsNull } from 'typeorm';
import { DomainError } from '../base/index.js';
import type { ReadLandmark } from '../engine/shape/index.js';
import type { Zone } from '../engine/zones.js';
import { newId } from '../store/index.js';
import { CutFormula, CutStep, HoldLimitRow, ZoneLength, ZoneLink } from './entities.js';
import type { FormulaInput, LimitInput } from './formula.input.js';
import { cutShape } from './shape-of.js';

/** A formula with all that belongs to it, steps in cutting order. */
export type WholeFormula = {
  readonly formula: CutFormula;
  readonly steps: CutStep[];
  readonly lengths: ZoneLength[];
  readonly links: ZoneLink[];
  readonly limits: HoldLimitRow[];
};

export type FormulaOwner = {
  readonly salonId: string;
  readonly clientId: string | null;
  readonly basedOnId: string | null;
  readonly cutOn: string | null;
};

/** Where a zone stands after the visit: cut today, or left alone since an earlier day. */
export type StandingLength = Pick<ZoneLength, 'zone' | 'leftMm' | 'leftSdMm' | 'leftOn' | 'wantedMm'>;

/** Landmarks at which the engine reads a zone's ends. */
const READABLE: Record<Zone, readonly ReadLandmark[]> = {
  fringe: ['brow', 'lid-crease', 'upper-lid'],
  top: [],
  crown: [],
  'left-side': ['ear-canal'],
  'right-side': ['ear-canal'],
  back: ['nape-hairline', 'collar'],
  nape: ['nape-hairline', 'collar'],
};

/** Throws CUT.LIMIT_INCOMPLETE naming the limit that lacks a part its kind needs. */
export function requireLimit(limit: LimitInput, position: number): void {
  const field = `limits.${position}`;
  const lacking = (message: string) => DomainError.invalid('CUT.LIMIT_INCOMPLETE', field, message);
  if (limit.kind === 'contrast') {
    if (!limit.against || !limit.by) {
      throw lacking(`${field}: a contrast names the zone it is against, and whether by difference or ratio.`);
    }
    if (limit.against === limit.zone) throw lacking(`${field}: a zone has no contrast with itself.`);
    if (limit.by === 'ratio' && limit.value <= 0) throw lacking(`${field}: a ratio must be above 0.`);
    return;
  }
  if (limit.value < 0) throw lacking(`${field}: value must not be negative.`);
  if (limit.kind === 'landmark' && !READABLE[limit.zone].includes(limit.landmark as ReadLandmark))
    throw lacking(
      `${field}: name a landmark that the ends of this zone can reach` +
        `${READABLE[limit.zone].length > 0 ? `: ${READABLE[limit.zone].join(', ')}.` : '; this zone has none.'}`,
    );
}

/** What a step is where the input does not say. */
export const PLAIN_STEP = {
  section: null,
  elevationDeg: null,
  geometry: null,
  overDirectedTo: null,
  overDirectedSections: 0,
  fingerAngleDeg: 0,
  lengthAtGuideMm: null,
  endLengthMm: null,
  sectionDepthMm: null,
  stepPerSectionMm: 0,
  leftToGrow: false,
} as const;

/** Reads and writes cut formulas whole; a formula that belongs to a visit is never changed, a newer one follows it. */
@Injectable()
export class Formulas {
  async write(
    manager: EntityManager,
    owner: FormulaOwner,
    input: FormulaInput,
    lengths: readonly StandingLength[],
  ): Promise<string> {
    for (const [position, limit] of (input.limits ?? []).entries()) requireLimit(limit, position);
    const formulaId = newId();
    const steps = input.steps.map((step, i) =>
      manager.create(CutStep, { ...PLAIN_STEP, ...step, id: newId(), formulaId, position: i + 1 }),
    );
    // What cannot be cut cannot be grown or drawn either: refused here, with the step's number.
    cutShape({}, { steps, lengths: [...lengths], links: input.links ?? [] });
    await manager.insert(CutFormula, {
      id: formulaId,
      ...owner,
      name: input.name,
      notes: input.notes ?? '',
    });
    await manager.insert(CutStep, steps);
    await manager.insert(
      ZoneLength,
      lengths.map(({ zone, leftMm, leftSdMm, leftOn, wantedMm }) => ({
        id: newId(),
        formulaId,
        zone,
        leftMm,
        leftSdMm,
        leftOn,
        wantedMm,
      })),
    );
    await manager.insert(
      ZoneLink,
      (input.links ?? []).map((link) => ({ ...link, id: newId(), formulaId })),
    );
    await manager.insert(
      HoldLimitRow,
      (input.limits ?? []).map((limit) => ({ ...limit, id: newId(), formulaId })),
    );
    return formulaId;
  }

  /** Throws CUT.NOT_FOUND. */
  async read(manager: EntityManager, formulaId: string): Promise<WholeFormula> {
    const formula = await manager.findOneBy(CutFormula, { id: formulaId });
    if (!formula) throw DomainError.notFound('CUT.NOT_FOUND', 'cut formula');
    return await whole(manager, formula);
  }

  /** What stands on the client's head: her newest formula as cut, or undefined before the first. */
  async current(manager: EntityManager, clientId: string): Promise<WholeFormula | undefined> {
    const [newest] = await this.ofClient(manager, clientId, 1);
    return newest && (await whole(manager, newest));
  }

  /** The client's formulas as cut, newest first. */
  ofClient(manager: EntityManager, clientId: string, limit = 50): Promise<CutFormula[]> {
    return manager.find(CutFormula, {
      where: { clientId },
      order: { cutOn: 'DESC', id: 'DESC' },
      take: limit,
    });
  }

  /** The salon's own shapes, by name. */
  house(manager: EntityManager, salonId: string): Promise<CutFormula[]> {
    return manager.find(CutFormula, { where: { salonId, clientId: IsNull() }, order: { name: 'ASC' } });
  }
}

/** With all that belongs to it. */
async function whole(manager: EntityManager, formula: CutFormula): Promise<WholeFormula> {
  const of = { formulaId: formula.id };
  const steps = await manager.find(CutStep, { where: of, order: { position: 'ASC' } });
  const lengths = await manager.findBy(ZoneLength, of);
  const links = await manager.findBy(ZoneLink, of);
  const limits = await manager.find(HoldLimitRow, { where: of, order: { id: 'ASC' } });
  return { formula, steps, lengths, links, limits };
}
