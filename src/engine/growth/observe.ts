import type { Zone } from '../zones.js';
import { ageProfile, type GrowthProfile, zoneIndex } from './profile.js';
import {
  checkObservation,
  type LengthObservation,
  speaksOfUnrecordedCut,
  surprise,
  type Trust,
  trustIn,
} from './trust.js';

export type Verdict = 'used' | 'doubted' | 'set-aside';

export interface ObservationResult {
  readonly profile: GrowthProfile;
  readonly verdict: Verdict;
  /** One sentence for the screen. */
  readonly note: string;
}

export interface VisitResult {
  readonly profile: GrowthProfile;
  /** In the order of the observations. */
  readonly zones: readonly { readonly zone: Zone; readonly verdict: Verdict; readonly note: string }[];
  readonly unrecordedCut: boolean;
}

/**
 * Learns from one arrival measurement: y = leftMm + rate * days + error, the conjugate Gaussian update of person and
 * zone together. "used" in full, "doubted" in part, or "set-aside", when the profile comes back unchanged (see
 * `trustIn` for where the lines are).
 *
 * Throws ENGINE.NOT_A_NUMBER, ENGINE.OUT_OF_RANGE or ENGINE.UNKNOWN_ZONE naming the field.
 */
export function observeGrowth(profile: GrowthProfile, observation: LengthObservation): ObservationResult {
  const { profile: after, zones } = observeVisit(profile, [observation]);
  return { profile: after, verdict: zones[0]?.verdict ?? 'set-aside', note: zones[0]?.note ?? '' };
}

/**
 * Learns from all zones measured on one arrival. Each is judged against what was known before the visit, so that their
 * order does not matter; then all of them are checked for a cut that was not recorded, which sets the visit aside.
 */
export function observeVisit(
  profile: GrowthProfile,
  observations: readonly LengthObservation[],
): VisitResult {
  for (const observation of observations) checkObservation(observation);
  const latest = observations.reduce((on, observation) => (observation.on > on ? observation.on : on), '');
  const aged = latest === '' ? profile : ageProfile(profile, latest);
  const trust = observations.map((observation) => trustIn(aged, observation));
  const believed = observations.filter((_, i) => (trust[i]?.weight ?? 0) > 0);
  const unrecordedCut = speaksOfUnrecordedCut(aged, believed);
  let after = aged;
  const zones = observations.map((observation, i) => {
    const own = trust[i] as Trust;
    if (own.weight > 0 && unrecordedCut) {
      return {
        zone: observation.zone,
        verdict: 'set-aside' as const,
        note: 'All zones together are shorter than growth explains: probably a cut that was not recorded. Nothing was learned from this visit.',
      };
    }
    if (own.weight > 0) after = weighIn(after, observation, own.weight);
    return { zone: observation.zone, verdict: verdictOf(own.weight), note: own.note };
  });
  return { profile: after === aged ? profile : after, zones, unrecordedCut };
}

function verdictOf(weight: number): Verdict {
  return weight === 1 ? 'used' : weight === 0 ? 'set-aside' : 'doubted';
}

/** Kalman step; a weight below 1 widens the error so that the gain shrinks by exactly that factor. */
function weighIn(profile: GrowthProfile, observation: LengthObservation, weight: number): GrowthProfile {
  const z = zoneIndex(observation.zone);
  const { days, zone, measuredMm, on } = observation;
  const { expectedMm, sdMm } = surprise(profile, observation);
  if (sdMm === 0) return profile;
  const variance = (sdMm * sdMm) / weight;
  const cross = profile.covariance.map((row) => days * ((row[0] ?? 0) + (row[z] ?? 0)));
  return {
    ...profile,
    mean: profile.mean.map((value, i) => value + ((cross[i] ?? 0) / variance) * (measuredMm - expectedMm)),
    covariance: profile.covariance.map((row, i) =>
      row.map((value, j) => value - ((cross[i] ?? 0) * (cross[j] ?? 0)) / variance),
    ),
    measurements: { ...profile.measurements, [zone]: profile.measurements[zone] + 1 },
    lastUpdatedOn: profile.lastUpdatedOn !== null && profile.lastUpdatedOn > on ? profile.lastUpdatedOn : on,
  };
}
