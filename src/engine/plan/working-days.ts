import { EngineError } from '../errors.js';
import { addDays, daysBetween } from '../growth/index.js';
import type { WindowDays } from './window.js';

export interface WorkingWindow {
  /** First and last working day inside the window, and the one nearest to its due day (the earlier of two). */
  readonly earliestOn: string;
  readonly dueOn: string;
  readonly latestOn: string;
  /** Working days inside the window. */
  readonly workingDays: number;
  /** Where the window has no working day: the three dates are then the nearest one before it, else after it. */
  readonly outside: 'before' | 'after' | null;
}

/** How far outside the window a working day is looked for. */
const SEARCH_DAYS = 60;

/**
 * The window in the working days of one stylist. A window without any falls back to the last working day before it,
 * since hair cut too early still looks right and hair cut too late does not; only if there is none within 60 days, or
 * none on or after `notBefore`, to the first one after it.
 *
 * Throws ENGINE.IMPOSSIBLE when no working day lies within 60 days of the window.
 */
export function fitToWorkingDays(
  window: Pick<WindowDays, 'earliestOn' | 'dueOn' | 'latestOn'>,
  worksOn: (isoDate: string) => boolean,
  notBefore?: string,
): WorkingWindow {
  const works = (day: string) => (notBefore === undefined || day >= notBefore) && worksOn(day);
  const length = daysBetween(window.earliestOn, window.latestOn);
  const inside = range(length + 1)
    .map((day) => addDays(window.earliestOn, day))
    .filter(works);
  if (inside.length > 0) {
    const distance = (day: string) => Math.abs(daysBetween(window.dueOn, day));
    const dueOn = inside.reduce((best, day) => (distance(day) < distance(best) ? day : best));
    return {
      earliestOn: inside[0] as string,
      dueOn,
      latestOn: inside[inside.length - 1] as string,
      workingDays: inside.length,
      outside: null,
    };
  }
  const before = range(SEARCH_DAYS)
    .map((day) => addDays(window.earliestOn, -1 - day))
    .find(works);
  const after = range(SEARCH_DAYS)
    .map((day) => addDays(window.latestOn, 1 + day))
    .find(works);
  const nearest = before ?? after;
  if (nearest === undefined) {
    throw new EngineError(
      'ENGINE.IMPOSSIBLE',
      'worksOn',
      `This stylist works on no day within ${SEARCH_DAYS} days of the window.`,
    );
  }
  return {
    earliestOn: nearest,
    dueOn: nearest,
    latestOn: nearest,
    workingDays: 0,
    outside: before === undefined ? 'after' : 'before',
  };
}

function range(count: number): number[] {
  return Array.from({ length: count }, (_, i) => i);
}
