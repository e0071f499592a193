import { requireNumber } from '../errors.js';
import { ZONES, type Zone } from '../zones.js';
import { plainDate } from './days.js';
import { ageProfile, type GrowthProfile, zoneIndex } from './profile.js';

/** A zone measured on arrival, `days` after it was left at `leftMm`. */
export interface LengthObservation {
  readonly zone: Zone;
  readonly leftMm: number;
  readonly leftSdMm: number;
  readonly days: number;
  readonly measuredMm: number;
  /** Error of the measuring hand: about 5 mm, less for a clipper guard. */
  readonly measuredSdMm: number;
  /** ISO date of the measurement. */
  readonly on: string;
}

export type Verdict = 'used' | 'doubted' | 'set-aside';

export interface ObservationResult {
  readonly profile: GrowthProfile;
  readonly verdict: Verdict;
  /** One sentence for the screen. */
  readonly note: string;
}

/** Standardised surprise up to which a measurement counts in full, and from which it counts not at all. */
const FULL_TRUST = 2.5;
const NO_TRUST = 4.5;

/**
 * Learns from one arrival measurement: y = leftMm + rate * days + error, the conjugate Gaussian update.
 *
 * The surprise e = (y - expected) / sd(y) guards it against blunders by the IGG III weights of geodesy (Yang,
 * Song, Xu 2002, J Geodesy 76:353-358): full weight up to |e| = 2.5, none from 4.5 on ("set-aside", the profile
 * comes back unchanged), between them a part ("doubted"). A length clearly below what was left can only come
 * from a cut that was not recorded, or a slip, and is set aside too.
 *
 * Throws ENGINE.NOT_A_NUMBER, ENGINE.OUT_OF_RANGE or ENGINE.UNKNOWN_ZONE naming the field.
 */
export function observeGrowth(profile: GrowthProfile, observation: LengthObservation): ObservationResult {
  const checked = checkObservation(observation);
  const aged = ageProfile(profile, checked.on);
  const seen = surprise(aged, checked);
  const shortfallMm = checked.leftMm - checked.measuredMm;
  if (shortfallMm > FULL_TRUST * Math.hypot(checked.leftSdMm, checked.measuredSdMm)) {
    return {
      profile,
      verdict: 'set-aside',
      note: `The ${zoneName(checked.zone)} is ${shortfallMm.toFixed(0)} mm shorter than it was left: a cut that was not recorded, or a slip. Nothing was learned from it.`,
    };
  }
  const weight = iggThreeWeight(seen.standardised);
  if (weight === 0) {
    return {
      profile,
      verdict: 'set-aside',
      note: `${checked.measuredMm} mm at the ${zoneName(checked.zone)} is too far from the ${seen.expectedMm.toFixed(0)} mm expected to be growth. Nothing was learned from it; please measure again.`,
    };
  }
  const updated = weighIn(aged, checked, weight);
  if (weight === 1) {
    return { profile: updated, verdict: 'used', note: `Learned from the ${zoneName(checked.zone)}.` };
  }
  return {
    profile: updated,
    verdict: 'doubted',
    note: `${checked.measuredMm} mm at the ${zoneName(checked.zone)} is far from the ${seen.expectedMm.toFixed(0)} mm expected: counted at ${Math.round(100 * weight)} %.`,
  };
}

export function zoneName(zone: Zone): string {
  return zone.replace('-', ' ');
}

function checkObservation(observation: LengthObservation): LengthObservation {
  zoneIndex(observation.zone);
  requireNumber(observation.leftMm, 'leftMm', 0, 2000);
  requireNumber(observation.leftSdMm, 'leftSdMm', 0, 200);
  requireNumber(observation.days, 'days', 1, 3660);
  requireNumber(observation.measuredMm, 'measuredMm', 0, 2000);
  requireNumber(observation.measuredSdMm, 'measuredSdMm', 0, 200);
  plainDate(observation.on, 'on');
  return observation;
}

/** How far the measurement lies from what the profile expects, in standard deviations of that expectation. */
export function surprise(
  profile: GrowthProfile,
  observation: LengthObservation,
): { expectedMm: number; sdMm: number; standardised: number } {
  const z = zoneIndex(observation.zone);
  const { days } = observation;
  const rate = profile.prior.meanMmPerDay + at(profile.mean, 0) + at(profile.mean, z);
  const expectedMm = observation.leftMm + rate * days;
  const gain = rateCovariances(profile, z);
  const variance =
    days * days * (at(gain, 0) + at(gain, z)) + observation.leftSdMm ** 2 + observation.measuredSdMm ** 2;
  const sdMm = Math.sqrt(variance);
  return { expectedMm, sdMm, standardised: (observation.measuredMm - expectedMm) / sdMm };
}

/** Yang's IGG III: 1, then k0/|e| * ((k1 - |e|) / (k1 - k0))², then 0. */
export function iggThreeWeight(standardised: number): number {
  const e = Math.abs(standardised);
  if (e <= FULL_TRUST) return 1;
  if (e >= NO_TRUST) return 0;
  return (FULL_TRUST / e) * ((NO_TRUST - e) / (NO_TRUST - FULL_TRUST)) ** 2;
}

/** Kalman step; `weight` below 1 widens the error so that the gain shrinks by exactly that factor. */
export function weighIn(
  profile: GrowthProfile,
  observation: LengthObservation,
  weight: number,
): GrowthProfile {
  const z = zoneIndex(observation.zone);
  const { days } = observation;
  const { expectedMm, sdMm } = surprise(profile, observation);
  const variance = (sdMm * sdMm) / weight;
  const cross = rateCovariances(profile, z).map((value) => value * days);
  const residual = observation.measuredMm - expectedMm;
  return {
    ...profile,
    mean: profile.mean.map((value, i) => value + (at(cross, i) / variance) * residual),
    covariance: profile.covariance.map((row, i) =>
      row.map((value, j) => value - (at(cross, i) * at(cross, j)) / variance),
    ),
    measurements: { ...profile.measurements, [observation.zone]: profile.measurements[observation.zone] + 1 },
    lastUpdatedOn: laterOf(profile.lastUpdatedOn, observation.on),
  };
}

/** Covariance of every component of the profile with the rate of the zone at index `z`. */
function rateCovariances(profile: GrowthProfile, z: number): number[] {
  return profile.covariance.map((row) => at(row, 0) + at(row, z));
}

function laterOf(a: string | null, b: string): string {
  return a !== null && a > b ? a : b;
}

function at(values: readonly number[], index: number): number {
  const value = values[index];
  if (value === undefined)
    throw new RangeError(`growth profile lacks component ${index} of ${ZONES.length + 1}`);
  return value;
}
