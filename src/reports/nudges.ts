import type { EntityManager } from 'typeorm';
import { isPostgres } from '../store/index.js';
import { ask, laterSql, one } from './ask.js';
import { GRACE_DAYS } from './coming-back.js';
import type { NudgeHoldOut } from './entities.js';
import { knownUntilSql } from './erased.js';
import { type Figure, SMALL_GROUP, shareCells, shareColumns } from './figure.js';
import { heldOutSql } from './held-out.js';
import type { FigureScope } from './scope.js';
import { shareDifference } from './share-difference.js';
import { scopeValues, visitSource } from './visit-groups.js';
import { wilson } from './wilson.js';

export type NudgeCounts = {
  /** 1 when the client was written to between the visit and her return, or the end of the grace. */
  readonly nudged: number;
  /** 1 when she is of the share that is left without nudges, and the visit was closed since the switch was set. */
  readonly heldOut: number;
  /** 1 when the visit was closed since then. */
  readonly inTrial: number;
  readonly of: number;
  readonly count: number;
};

/** Visits whose window and two weeks more have passed, and how many clients were back by then. */
export async function nudgeCounts(
  manager: EntityManager,
  scope: FigureScope,
  holdOut: Pick<NudgeHoldOut, 'percent' | 'since'> | undefined,
): Promise<NudgeCounts[]> {
  const until = laterSql(manager, 'x."suggestedLatestOn"', GRACE_DAYS);
  const instant = (date: string) =>
    isPostgres(manager)
      ? `CAST(EXTRACT(EPOCH FROM CAST(${date} AS date)) * 1000 AS bigint)`
      : `CAST(strftime('%s', ${date}) AS integer) * 1000`;
  const nudged =
    one(`EXISTS (SELECT 1 FROM message m WHERE m."clientId" = x."clientId" AND m.kind = 'shape-due'
    AND m.state = 'sent' AND m."sentAt" > x."closedAt" AND m."sentAt" < ${instant(`COALESCE(x."nextOn", ${until})`)})`);
  const inTrial = holdOut && holdOut.percent > 0 ? one('x."closedAt" >= :since') : '0';
  const heldOut =
    holdOut && holdOut.percent > 0
      ? one(`x."closedAt" >= :since AND ${heldOutSql('x."clientId"', holdOut.percent)}`)
      : '0';
  return await ask<NudgeCounts>(
    manager,
    `SELECT y."nudged", y."heldOut", y."inTrial", COUNT(*) AS "of", SUM(y.back) AS "count"
     FROM (SELECT ${nudged} AS "nudged", ${heldOut} AS "heldOut", ${inTrial} AS "inTrial",
             ${one(`x."nextOn" <= ${until}`)} AS back
           FROM ${visitSource(manager, scope, null, { next: true, looksUp: true })} x
           WHERE x."suggestedLatestOn" IS NOT NULL AND ${until} < :today
             AND ${knownUntilSql(manager, 'x."clientId"', until)}) y
     GROUP BY y."nudged", y."heldOut", y."inTrial"`,
    { ...scopeValues(scope), since: holdOut?.since ?? 0 },
    ['nudged', 'heldOut', 'inTrial', 'of', 'count'],
  );
}

const points = (share: number) => `${share < 0 ? '−' : '+'}${Math.abs(share * 100).toFixed(0)}`;

/** Clients back in time with and without a nudge: as it happened, or, with the hold-out on, as the lot fell. */
export async function nudgeFigure(
  manager: EntityManager,
  scope: FigureScope,
  holdOut: Pick<NudgeHoldOut, 'percent' | 'since'> | undefined,
): Promise<Figure> {
  const counts = await nudgeCounts(manager, scope, holdOut);
  const isOn = (holdOut?.percent ?? 0) > 0;
  const share = (name: string, picked: readonly NudgeCounts[]) => ({
    name,
    share: wilson(
      picked.reduce((sum, { count }) => sum + count, 0),
      picked.reduce((sum, { of }) => sum + of, 0),
    ),
  });
  const trial = counts.filter(({ inTrial }) => inTrial === 1);
  const groups = isOn
    ? [
        share(
          'May be nudged',
          trial.filter(({ heldOut }) => heldOut === 0),
        ),
        share(
          'Left without nudges',
          trial.filter(({ heldOut }) => heldOut === 1),
        ),
      ]
    : [
        share(
          'Nudged',
          counts.filter(({ nudged }) => nudged === 1),
        ),
        share(
          'Not nudged',
          counts.filter(({ nudged }) => nudged === 0),
        ),
      ];
  const [first, second] = groups;
  const difference =
    first && second && first.share.of > 0 && second.share.of > 0
      ? shareDifference(first.share, second.share)
      : undefined;
  const differenceWords =
    isOn && difference
      ? ` Difference: ${points(difference.difference)} points, 95 % from ${points(difference.low)} to ${points(difference.high)} (Newcombe, method 10).`
      : '';
  const drawn = groups.filter((group) => group.share.of >= SMALL_GROUP);
  return {
    key: 'nudges',
    title: 'Back within two weeks after the window, with and without a nudge',
    definition: isOn
      ? `An experiment: ${holdOut?.percent} % of clients, chosen by the last digits of their record’s number, are left without nudges. Counted over visits closed since the switch was set, by the group the client belongs to, whether or not she was written to.${differenceWords}`
      : 'By whether a nudge was sent after the visit and before the client came again, or before the two weeks were over.',
    caution: isOn
      ? 'Visits of one client are taken for independent of each other.'
      : 'No experiment: clients who come early are never nudged, and only those who agreed to such messages are. Leave a share of clients without nudges, below, to learn what nudges do.',
    columns: [{ key: 'group', label: 'Clients', kind: 'text' }, ...shareColumns('Windows over', 'Back')],
    rows: groups.map((group) => ({
      cells: { group: group.name, ...shareCells(group.share) },
      small: group.share.of < SMALL_GROUP,
    })),
    ...(drawn.length > 0 && {
      chart: {
        kind: 'shares' as const,
        x: 'Back, % of windows over',
        rows: drawn.map((group) => ({ name: group.name, ...group.share })),
      },
    }),
  };
}
