import type { Zone } from '../zones.js';
import { type GrowthProfile, initialProfile } from './profile.js';
import { zoneRate } from './project.js';
import { zoneName } from './trust.js';

/** 90th percentile of the standard normal distribution: "most people" are the middle 8 in 10. */
const Z_80 = 1.2815515655446004;

/**
 * What the profile knows of a zone, in words: "yours: 0.41 mm a day at the nape, from 5 measurements; most people
 * 0.27-0.43". Says so where nothing was measured, and where no rate was ever published for the zone.
 */
export function describeProfile(profile: GrowthProfile, zone: Zone): string {
  const rate = zoneRate(profile, zone).meanMmPerDay.toFixed(2);
  const start = zoneRate(initialProfile(profile.prior), zone);
  const low = (start.meanMmPerDay - Z_80 * start.sdMmPerDay).toFixed(2);
  const high = (start.meanMmPerDay + Z_80 * start.sdMmPerDay).toFixed(2);
  const here = profile.measurements[zone];
  const elsewhere = Object.values(profile.measurements).reduce((sum, count) => sum + count, 0) - here;
  const basis =
    here > 0
      ? `yours: ${rate} mm a day at the ${zoneName(zone)}, from ${counted(here)}`
      : elsewhere > 0
        ? `yours: ${rate} mm a day at the ${zoneName(zone)}, not measured there, judged by ${counted(elsewhere)} of other zones`
        : `not measured yet: ${rate} mm a day assumed at the ${zoneName(zone)}`;
  const gap = zone === 'nape' ? ' (no published figure for the nape)' : '';
  return `${basis}; most people ${low}-${high}${gap}`;
}

function counted(measurements: number): string {
  return measurements === 1 ? '1 measurement' : `${measurements} measurements`;
}
