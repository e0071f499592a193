import { requireNumber } from '../errors.js';
import { ZONES, type Zone } from '../zones.js';
import { epochDay } from './days.js';
import { type GrowthProfile, zoneIndex } from './profile.js';

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

/** How much of a measurement to believe, from 0 to 1, and why it is not all of it. */
export interface Trust {
  readonly weight: number;
  readonly note: string;
}

/** Standardised surprise up to which a measurement counts in full, and from which it counts not at all. */
const FULL_TRUST = 2.5;
const NO_TRUST = 4.5;
/** Below this a visit's measurements together speak of a cut nobody recorded; one honest visit in 700 reaches it. */
const UNRECORDED_CUT = -3;

/** Throws ENGINE.NOT_A_NUMBER, ENGINE.OUT_OF_RANGE or ENGINE.UNKNOWN_ZONE naming the field. */
export function checkObservation(observation: LengthObservation): void {
  zoneIndex(observation.zone);
  requireNumber(observation.leftMm, 'leftMm', 0, 2000);
  requireNumber(observation.leftSdMm, 'leftSdMm', 0, 200);
  requireNumber(observation.days, 'days', 1, 3660);
  requireNumber(observation.measuredMm, 'measuredMm', 0, 2000);
  requireNumber(observation.measuredSdMm, 'measuredSdMm', 0, 200);
  epochDay(observation.on, 'on');
}

/**
 * One measurement on its own. The surprise e = (measured - expected) / sd is turned into a weight by the IGG III
 * scheme of geodesy (Yang, Song, Xu 2002, J Geodesy 76:353-358). A length well below what was left can only come from
 * a cut that was not recorded, or a slip, whatever the profile expects.
 */
export function trustIn(profile: GrowthProfile, observation: LengthObservation): Trust {
  const { zone, leftMm, measuredMm } = observation;
  const at = `the ${zoneName(zone)}`;
  const shortfallMm = leftMm - measuredMm;
  if (shortfallMm > FULL_TRUST * Math.hypot(observation.leftSdMm, observation.measuredSdMm)) {
    return {
      weight: 0,
      note: `${capital(at)} is ${shortfallMm.toFixed(0)} mm shorter than it was left: a cut that was not recorded, or a slip. Nothing was learned from it.`,
    };
  }
  const { expectedMm, standardised } = surprise(profile, observation);
  const weight = iggThreeWeight(standardised);
  if (weight === 1) return { weight, note: `Learned from ${at}.` };
  const found = `${measuredMm} mm at ${at}`;
  const note =
    weight === 0
      ? `${found} is too far from the ${expectedMm.toFixed(0)} mm expected to be growth. Nothing was learned from it; please measure again.`
      : `${found} is far from the ${expectedMm.toFixed(0)} mm expected: counted at ${Math.round(100 * weight)} %.`;
  return { weight, note };
}

/**
 * True when the measurements of one visit, taken together, are shorter by a common length than growth explains: the
 * generalised-least-squares estimate of a common shift lies 3 of its standard deviations below zero. Sees a trim all
 * over that no single zone betrays; needs at least two zones.
 */
export function speaksOfUnrecordedCut(
  profile: GrowthProfile,
  observations: readonly LengthObservation[],
): boolean {
  if (observations.length < 2) return false;
  const covariance = observations.map((a) => observations.map((b) => jointCovariance(profile, a, b)));
  const ones = solveSymmetric(
    covariance,
    observations.map(() => 1),
  );
  let shift = 0;
  let information = 0;
  observations.forEach((observation, i) => {
    shift += (ones[i] ?? 0) * (observation.measuredMm - surprise(profile, observation).expectedMm);
    information += ones[i] ?? 0;
  });
  return shift / Math.sqrt(information) < UNRECORDED_CUT;
}

/** How far the measurement lies from what the profile expects, in mm and in standard deviations. */
export function surprise(
  profile: GrowthProfile,
  observation: LengthObservation,
): { expectedMm: number; sdMm: number; standardised: number } {
  const z = zoneIndex(observation.zone);
  const rate = profile.prior.meanMmPerDay + (profile.mean[0] ?? 0) + (profile.mean[z] ?? 0);
  const expectedMm = observation.leftMm + rate * observation.days;
  const sdMm = Math.sqrt(jointCovariance(profile, observation, observation));
  return { expectedMm, sdMm, standardised: sdMm > 0 ? (observation.measuredMm - expectedMm) / sdMm : 0 };
}

function jointCovariance(profile: GrowthProfile, a: LengthObservation, b: LengthObservation): number {
  const i = zoneIndex(a.zone);
  const j = zoneIndex(b.zone);
  const own = a === b ? a.leftSdMm ** 2 + a.measuredSdMm ** 2 : 0;
  const row = profile.covariance[i];
  const rates =
    (profile.covariance[0]?.[0] ?? 0) + (profile.covariance[0]?.[j] ?? 0) + (row?.[0] ?? 0) + (row?.[j] ?? 0);
  return a.days * b.days * rates + own;
}

/** Yang's IGG III: 1, then k0/|e| * ((k1 - |e|) / (k1 - k0))², then 0. */
function iggThreeWeight(standardised: number): number {
  const e = Math.abs(standardised);
  if (e <= FULL_TRUST) return 1;
  if (e >= NO_TRUST) return 0;
  return (FULL_TRUST / e) * ((NO_TRUST - e) / (NO_TRUST - FULL_TRUST)) ** 2;
}

/** Gauss-Jordan for a small positive definite matrix, which needs no pivoting. */
function solveSymmetric(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const rows = matrix.map((row, i) => [...row, right[i] ?? 0]);
  rows.forEach((pivotRow, i) => {
    const pivot = pivotRow[i] ?? 1;
    for (let k = i; k < pivotRow.length; k += 1) pivotRow[k] = (pivotRow[k] ?? 0) / pivot;
    rows.forEach((row, j) => {
      const factor = row[i] ?? 0;
      if (j === i || factor === 0) return;
      for (let k = i; k < row.length; k += 1) row[k] = (row[k] ?? 0) - factor * (pivotRow[k] ?? 0);
    });
  });
  return rows.map((row) => row[right.length] ?? 0);
}

/** "left side": the zone as it is said. */
export function zoneName(zone: Zone): string {
  return ZONES.includes(zone) ? zone.replace('-', ' ') : zone;
}

function capital(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1);
}
