/**
 * The regions of the scalp that are cut to a length of their own, in the order a card lists them.
 * Left and right are the client's own.
 */
export const ZONES = ['fringe', 'top', 'crown', 'left-side', 'right-side', 'back', 'nape'] as const;

export type Zone = (typeof ZONES)[number];

export function isZone(value: unknown): value is Zone {
  return ZONES.includes(value as Zone);
}
