import { type Principal, permits } from '../identity/index.js';
import { FIGURE_PARTS, type FigurePart, WHOLE_SALON_PARTS } from './figures.js';

/** Which figures somebody may see, and of whom. */
export type FigureView = {
  readonly parts: readonly FigurePart[];
  /** Null: everybody's; else only this stylist's. */
  readonly staffId: string | null;
};

/**
 * The owner sees all; a stylist what came of her own visits, money included, and nothing while her account is nobody's;
 * the desk what is coming, which holds no money. `staffId` is who the account is in the salon.
 */
export function figureView(
  who: Pick<Principal, 'role' | 'via' | 'scopes'>,
  staffId: string | null,
): FigureView {
  if (permits(who, 'report.read')) return { parts: FIGURE_PARTS, staffId: null };
  if (permits(who, 'report.own') && staffId !== null) {
    return { parts: FIGURE_PARTS.filter((part) => !WHOLE_SALON_PARTS.includes(part)), staffId };
  }
  if (permits(who, 'report.outlook')) return { parts: WHOLE_SALON_PARTS, staffId: null };
  return { parts: [], staffId };
}
