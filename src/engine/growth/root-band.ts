import type { Zone } from '../zones.js';
import { daysBetween } from './days.js';
import { ageProfile, type GrowthProfile } from './profile.js';
import { type LengthProjection, projectLength } from './project.js';

export interface RootBand extends LengthProjection {
  readonly days: number;
}

/**
 * Width of the undyed band on a date: rate times the days since the colour, from the same profile as every length.
 * `zone` where it is looked at, the parting (top) if not said. 0 mm before and on the day of the colour.
 */
export function rootBand(
  profile: GrowthProfile,
  input: { readonly colouredOn: string; readonly on: string; readonly zone?: Zone },
): RootBand {
  const days = Math.max(0, daysBetween(input.colouredOn, input.on));
  const zone = input.zone ?? 'top';
  return { days, ...projectLength(ageProfile(profile, input.on), { zone, leftMm: 0, leftSdMm: 0, days }) };
}
