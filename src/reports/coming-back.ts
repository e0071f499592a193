import type { EntityManager } from 'typeorm';
import { laterSql, one } from './ask.js';
import { knownUntilSql } from './erased.js';
import type { Figure } from './figure.js';
import type { CutBy, FigureScope } from './scope.js';
import { type Counted, sharesFigure } from './shares.js';
import { groupVisits } from './visit-groups.js';

export const REBOOKING_DEFINITION =
  'Rebooked at checkout: when the visit was closed, or later the same day, the client held an appointment after it. ' +
  'Counted over all closed visits; an appointment that was cancelled the same day does not count.';

/** Two weeks' grace after the latest date of the window. */
export const GRACE_DAYS = 14;

const REBOOKED = `EXISTS (SELECT 1 FROM appointment a WHERE a."clientId" = x."clientId" AND a."startsAt" > x."closedAt"
  AND a."bookedAt" < x."dayEndsAt" AND (a."cancelledAt" IS NULL OR a."cancelledAt" >= x."dayEndsAt"))`;

export const REBOOKED_SUMS = { of: '1', count: one(REBOOKED) } as const;

/** Visits and how many of them were rebooked at checkout. */
export function rebookedCounts(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
): Promise<Counted[]> {
  return groupVisits(manager, scope, by, { groups: {}, sums: REBOOKED_SUMS, looksUp: true });
}

export async function rebookedFigure(manager: EntityManager, scope: FigureScope, by: CutBy): Promise<Figure> {
  return await sharesFigure(manager, by, await rebookedCounts(manager, scope, by), {
    key: 'rebooked',
    title: 'Rebooked at checkout',
    definition: REBOOKING_DEFINITION,
    of: 'Visits',
    count: 'Rebooked',
  });
}

/** Visits whose window (and `graceDays` more) has passed, and how many of those clients were back by its end. */
export function returnedCounts(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
  graceDays: number,
): Promise<Counted[]> {
  const until =
    graceDays === 0 ? 'x."suggestedLatestOn"' : laterSql(manager, 'x."suggestedLatestOn"', graceDays);
  return groupVisits(manager, scope, by, {
    groups: {},
    sums: { of: '1', count: one(`x."nextOn" <= ${until}`) },
    where: `x."suggestedLatestOn" IS NOT NULL AND ${until} < :today
      AND ${knownUntilSql(manager, 'x."clientId"', until)}`,
    next: true,
  });
}

const RETURNED = {
  returned: { graceDays: 0, title: 'Back within the window', end: 'the latest date suggested at checkout' },
  'returned-late': {
    graceDays: GRACE_DAYS,
    title: 'Back within the window or two weeks after',
    end: 'two weeks after the latest date suggested at checkout',
  },
} as const;

/** Both shares of clients who were back in time. */
export async function returnedFigures(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy,
): Promise<Figure[]> {
  const figures: Figure[] = [];
  for (const [key, { graceDays, title, end }] of Object.entries(RETURNED)) {
    const counted = await returnedCounts(manager, scope, by, graceDays);
    figures.push(
      await sharesFigure(manager, by, counted, {
        key,
        title,
        definition:
          `The client’s next visit, with anybody, came no later than ${end}; coming early counts. ` +
          'Counted over visits that ended with a suggested window which is over by now: whose window is still open is left out, not counted as lost, and so is whose record was erased before it was over.',
        of: 'Windows over',
        count: 'Back',
      }),
    );
  }
  return figures;
}
