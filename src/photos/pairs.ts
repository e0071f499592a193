import { PHOTO_ANGLES, type Photo, type PhotoAngle } from './entities.js';

/** The same angle before and after; either may lack. */
export type PhotoPair<P> = {
  readonly angle: PhotoAngle;
  readonly before: P | null;
  readonly after: P | null;
};

/**
 * Pairs by angle, in the order of PHOTO_ANGLES, angles without any photograph left out. `earlier` and `later` are
 * newest first. After: the later visit's photograph when it was done. Before: the earlier visit's, when it was done or
 * else on arrival; of one and the same visit, that on arrival.
 */
export function photoPairs<P extends Pick<Photo, 'angle' | 'moment'>>(
  later: readonly P[],
  earlier?: readonly P[],
): PhotoPair<P>[] {
  const find = (photos: readonly P[], angle: PhotoAngle, moment: Photo['moment']) =>
    photos.find((photo) => photo.angle === angle && photo.moment === moment) ?? null;
  return PHOTO_ANGLES.flatMap((angle) => {
    const after = find(later, angle, 'after');
    const before = earlier
      ? (find(earlier, angle, 'after') ?? find(earlier, angle, 'before'))
      : find(later, angle, 'before');
    return before || after ? [{ angle, before, after }] : [];
  });
}
