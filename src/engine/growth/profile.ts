import { EngineError } from '../errors.js';
import { isZone, ZONES, type Zone } from '../zones.js';
import { daysBetween } from './days.js';
import type { GrowthPrior } from './prior.js';

/**
 * What is known of one person's growth: a joint Gaussian over p (the person) and q (one per zone), all in mm
 * a day, with rate of a zone = prior mean + p + q of that zone. Plain JSON.
 */
export interface GrowthProfile {
  readonly prior: GrowthPrior;
  /** p, then q in the order of ZONES. */
  readonly mean: readonly number[];
  /** 8 x 8, same order, (mm a day)². */
  readonly covariance: readonly (readonly number[])[];
  /** Measurements that were used, whole or in part. */
  readonly measurements: Readonly<Record<Zone, number>>;
  /** ISO date of the latest measurement that was used. */
  readonly lastUpdatedOn: string | null;
}

const SIZE = ZONES.length + 1;
const DAYS_PER_YEAR = 365.25;

/**
 * Time in which what was learned of a person fades by 1/e. Ours, not published: no source gives the change of
 * a person's rate over years, and at this value a fifth of the prior variance returns within one year.
 */
const FORGETTING_YEARS = 8;

export function initialProfile(prior: GrowthPrior): GrowthProfile {
  return {
    prior,
    mean: Array.from({ length: SIZE }, () => 0),
    covariance: priorCovariance(prior),
    measurements: Object.fromEntries(ZONES.map((zone) => [zone, 0])) as Record<Zone, number>,
    lastUpdatedOn: null,
  };
}

export function priorCovariance(prior: GrowthPrior): number[][] {
  return Array.from({ length: SIZE }, (_, row) =>
    Array.from({ length: SIZE }, (__, column) =>
      row !== column ? 0 : row === 0 ? prior.personSdMmPerDay ** 2 : prior.zoneSdMmPerDay ** 2,
    ),
  );
}

/** Position of the zone's own deviation in `mean` and `covariance`. */
export function zoneIndex(zone: Zone): number {
  if (!isZone(zone)) {
    throw new EngineError('ENGINE.UNKNOWN_ZONE', 'zone', `zone must be one of ${ZONES.join(', ')}.`);
  }
  return ZONES.indexOf(zone) + 1;
}

/**
 * The profile as it is worth on a later date: an Ornstein-Uhlenbeck drift towards the prior, so that a profile
 * nobody feeds returns to the prior and never becomes vaguer than it. Unchanged for earlier dates.
 */
export function ageProfile(profile: GrowthProfile, on: string): GrowthProfile {
  if (profile.lastUpdatedOn === null) return profile;
  const days = daysBetween(profile.lastUpdatedOn, on);
  if (days <= 0) return profile;
  const kept = Math.exp(-days / (FORGETTING_YEARS * DAYS_PER_YEAR));
  const start = priorCovariance(profile.prior);
  return {
    ...profile,
    mean: profile.mean.map((value) => kept * value),
    covariance: profile.covariance.map((row, i) =>
      row.map((value, j) => kept * kept * value + (1 - kept * kept) * (start[i]?.[j] ?? 0)),
    ),
  };
}
