import type { EntityManager } from 'typeorm';
import { isPostgres } from '../store/index.js';
import { ask, fence, leastSql, one, over } from './ask.js';
import type { Figure } from './figure.js';
import type { CutBy, FigureScope } from './scope.js';
import { type Counted, sharesFigure } from './shares.js';
import { groupVisits, keySql, scopeValues, visitScope } from './visit-groups.js';

/** Visits followed by a return, and how many came back on or after the day by which the shape had failed at 50 %. */
export function goneByEngineCounts(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
): Promise<Counted[]> {
  return groupVisits(manager, scope, by, {
    groups: {},
    sums: { of: '1', count: one('x."nextOn" >= x."suggestedDueOn"') },
    where: 'x."nextOn" IS NOT NULL AND x."suggestedLatestOn" < :today',
    next: true,
  });
}

/** Measurements by the day: visits read as they lie find those of their clients' next days close together. */
const measuredSql = (manager: EntityManager, m: string) =>
  isPostgres(manager) ? `measurement ${m}` : `measurement ${m} INDEXED BY "measurement_figures"`;

/** Of several measurements of a zone on one day the first was taken before anything was cut. */
const isFirstSql = (manager: EntityManager, m: string) =>
  `NOT EXISTS (SELECT 1 FROM ${measuredSql(manager, 'e')} WHERE e."clientId" = ${m}."clientId" AND e."measuredOn" = ${m}."measuredOn"
    AND e.zone = ${m}.zone AND e.id < ${m}.id)`;

export type GoneCounts = Counted & {
  /** Of the same arrivals: gone by the engine, and judged alike by both. */
  readonly engine: number;
  readonly agree: number;
};

/**
 * Returns on which a zone was measured that has a limit which a length alone can judge: grown by, longer than, contrast
 * (then both zones). `count` of them had passed one. Contrast as the engine reads it: `against` is to stay the longer.
 */
export async function goneByMeasurementCounts(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
): Promise<GoneCounts[]> {
  const measured = (m: string) => measuredSql(manager, m);
  const isFirst = (m: string) => isFirstSql(manager, m);
  const passed = `CASE h.kind
    WHEN 'grown-by' THEN ${one(`m."lengthMm" > ${leastSql(manager, 'z."leftMm"', 'z."wantedMm"')} + h.value`)}
    WHEN 'longer-than' THEN ${one('m."lengthMm" > h.value')}
    ELSE CASE WHEN h.by = 'ratio' THEN ${one('o."lengthMm" < h.value * m."lengthMm"')}
      ELSE ${one('o."lengthMm" - m."lengthMm" < h.value')} END END`;
  const sql = `
    SELECT y."key", COUNT(*) AS "of", SUM(y.gone) AS "count", SUM(y.engine) AS "engine",
      SUM(${one('y.gone = y.engine')}) AS "agree"
    FROM (
      SELECT MIN(${keySql(by)}) AS "key", MAX(${passed}) AS gone, MAX(${one('v."nextOn" >= v."suggestedDueOn"')}) AS engine
      FROM ${over(manager, 'visit v', scope)}
      CROSS JOIN ${measured('m')}
      CROSS JOIN hold_limit h
      LEFT JOIN zone_length z ON z."formulaId" = v."formulaId" AND z.zone = h.zone
      LEFT JOIN ${measured('o')} ON o."clientId" = v."clientId" AND o."measuredOn" = v."nextOn" AND o.zone = h.against
        AND ${isFirst('o')}
      WHERE ${visitScope(scope)} AND v."nextOn" <= :today AND v."suggestedLatestOn" < :today
        AND m."clientId" = v."clientId" AND m."measuredOn" = v."nextOn"
        AND h."formulaId" = v."formulaId" AND h.zone = m.zone AND ${isFirst('m')}
        AND (h.kind = 'longer-than' OR (h.kind = 'grown-by' AND z.id IS NOT NULL) OR (h.kind = 'contrast' AND o.id IS NOT NULL))
      GROUP BY ${isPostgres(manager) ? 'v.id' : 'v.rowid'} ${fence(manager)}
    ) y GROUP BY y."key"`;
  return await ask<GoneCounts>(manager, sql, scopeValues(scope), ['of', 'count', 'engine', 'agree']);
}

/** Shape already gone on arrival, by the engine and by what the comb measured. */
export async function goneFigures(manager: EntityManager, scope: FigureScope, by: CutBy): Promise<Figure[]> {
  const measured = await goneByMeasurementCounts(manager, scope, by);
  const sum = (of: (counts: GoneCounts) => number) =>
    measured.reduce((total, counts) => total + of(counts), 0);
  const [agree, of] = [sum((counts) => counts.agree), sum((counts) => counts.of)];
  const agreement =
    of === 0
      ? ''
      : ` On these arrivals measurement and engine said the same ${agree} times out of ${of}; the engine called ${sum((counts) => counts.engine)} of the shapes gone.`;
  return [
    await sharesFigure(manager, by, await goneByEngineCounts(manager, scope, by), {
      key: 'gone-by-engine',
      title: 'Shape gone on arrival, by the engine',
      definition:
        'The client came on or after the due date that was suggested when she left, which is the day by which the engine gave the shape an even chance of being gone. ' +
        'Counted over visits whose window is over by now and whose client has come again.',
      of: 'Returns',
      count: 'Gone',
    }),
    await sharesFigure(manager, by, measured, {
      key: 'gone-by-measurement',
      title: 'Shape gone on arrival, by measurement',
      definition: `A zone measured on arrival had passed a limit of the shape: it had grown by more than allowed, was longer than allowed, or had lost its contrast to another measured zone.${agreement}`,
      caution:
        'Only arrivals with such a measurement. Limits at a landmark, of the weight line and of the root band cannot be read from a length, and zones nobody measured are not judged.',
      of: 'Measured',
      count: 'Gone',
    }),
  ];
}
