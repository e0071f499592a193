import { requireNumber } from '../errors.js';
import type { Zone } from '../zones.js';
import { type GrowthProfile, zoneIndex } from './profile.js';

export interface ZoneRate {
  readonly meanMmPerDay: number;
  readonly sdMmPerDay: number;
}

export interface LengthProjection {
  readonly meanMm: number;
  /** Bounds of the 90 % interval. */
  readonly lowMm: number;
  readonly highMm: number;
  readonly sdMm: number;
}

export interface ProjectionInput {
  readonly zone: Zone;
  readonly leftMm: number;
  readonly leftSdMm: number;
  readonly days: number;
  /** Longest this hair gets before it is shed (rate times growing years), where it is known. */
  readonly terminalMm?: number;
  /** Asks for what a hand with this error will read, not for where the hair is. */
  readonly measuredSdMm?: number;
}

/** 95th percentile of the standard normal distribution: half of a 90 % interval. */
export const Z_90 = 1.6448536269514722;

export function zoneRate(profile: GrowthProfile, zone: Zone): ZoneRate {
  const z = zoneIndex(zone);
  const meanMmPerDay = profile.prior.meanMmPerDay + (profile.mean[0] ?? 0) + (profile.mean[z] ?? 0);
  const person = profile.covariance[0]?.[0] ?? 0;
  const own = profile.covariance[z]?.[z] ?? 0;
  const shared = profile.covariance[0]?.[z] ?? 0;
  return { meanMmPerDay, sdMmPerDay: Math.sqrt(Math.max(0, person + own + 2 * shared)) };
}

/**
 * Length of a zone `days` after it was left, uncut: mean and 90 % interval from the uncertainty of the rate and
 * of the length that was left. Shedding and breakage are ignored. With `terminalMm` every figure is capped there
 * (never below `leftMm`), because the interval says where the hair can be, not where the sum would put it.
 *
 * Takes the profile as it stands: for one last fed long ago pass `ageProfile(profile, on)`.
 *
 * Throws ENGINE.NOT_A_NUMBER, ENGINE.OUT_OF_RANGE or ENGINE.UNKNOWN_ZONE naming the field.
 */
export function projectLength(profile: GrowthProfile, input: ProjectionInput): LengthProjection {
  requireNumber(input.leftMm, 'leftMm', 0, 2000);
  requireNumber(input.leftSdMm, 'leftSdMm', 0, 200);
  requireNumber(input.days, 'days', 0, 3660);
  const measuredSdMm = requireNumber(input.measuredSdMm ?? 0, 'measuredSdMm', 0, 200);
  const rate = zoneRate(profile, input.zone);
  const meanMm = input.leftMm + rate.meanMmPerDay * input.days;
  const sdMm = Math.hypot(rate.sdMmPerDay * input.days, input.leftSdMm, measuredSdMm);
  const capMm = input.terminalMm === undefined ? Infinity : Math.max(input.leftMm, input.terminalMm);
  const within = (mm: number) => Math.min(capMm, Math.max(0, mm));
  return {
    meanMm: within(meanMm),
    lowMm: within(meanMm - Z_90 * sdMm),
    highMm: within(meanMm + Z_90 * sdMm),
    sdMm,
  };
}
