import type { Zone } from '../zones.js';
import { describeProfile } from './describe.js';
import type { GrowthProfile } from './profile.js';
import { type LengthProjection, type ProjectionInput, zoneRate } from './project.js';
import { zoneName } from './trust.js';

/** Everything behind one figure on the screen, in words. */
export interface Why {
  readonly figure: string;
  readonly value: string;
  readonly inputs: readonly { readonly name: string; readonly value: string }[];
  /** What is known of the client's growth, zone by zone. */
  readonly rates: readonly string[];
  /** The limit behind the figure, where there is one. */
  readonly limit: string | null;
  readonly formula: string;
  readonly sources: readonly string[];
  /** Where the knowledge ends. */
  readonly knowledgeEnds: readonly string[];
}

/** Fewer measurements than this and a profile says so. */
const FEW = 3;
/** Rate times growing years: 0.35 mm a day for three years; anagen lasts 2-6 years (secondary sources). */
const OFTEN_TERMINAL_MM = 380;

/** Why a zone is expected to be as long as {@link projectLength} says. */
export function explainLength(profile: GrowthProfile, input: ProjectionInput, length: LengthProjection): Why {
  const { meanMmPerDay, sdMmPerDay } = zoneRate(profile, input.zone);
  return {
    figure: `Length of the ${zoneName(input.zone)} ${input.days} days after it was cut`,
    value: `${mm(length.meanMm)}, 9 times in 10 between ${mm(length.lowMm)} and ${mm(length.highMm)}`,
    inputs: [
      { name: 'left at', value: `${mm(input.leftMm)} ± ${mm(input.leftSdMm)}` },
      { name: 'days since', value: `${input.days}` },
      { name: 'rate', value: `${meanMmPerDay.toFixed(3)} ± ${sdMmPerDay.toFixed(3)} mm a day` },
      ...(input.terminalMm === undefined
        ? []
        : [{ name: 'grows no longer than', value: mm(input.terminalMm) }]),
    ],
    rates: [describeProfile(profile, input.zone)],
    limit: null,
    formula:
      'length = left + rate × days; its spread combines (spread of the rate × days) with the error of the length left',
    sources: [profile.prior.source],
    knowledgeEnds: knowledgeEnds(profile, [input.zone], length.highMm),
  };
}

/** What the growth model cannot know of these zones, in sentences; `longestMm` the longest length that is spoken of. */
export function knowledgeEnds(profile: GrowthProfile, zones: readonly Zone[], longestMm: number): string[] {
  const counts = zones.map((zone) => ({ zone, count: profile.measurements[zone] }));
  const unmeasured = counts.filter(({ count }) => count === 0).map(({ zone }) => zoneName(zone));
  const few = counts.filter(({ count }) => count > 0 && count < FEW).map(({ zone }) => zoneName(zone));
  return [
    ...(unmeasured.length > 0 ? [`Never measured on this client: ${unmeasured.join(', ')}.`] : []),
    ...(few.length > 0 ? [`Measured once or twice only: ${few.join(', ')}.`] : []),
    ...(zones.includes('nape')
      ? ['No published rate was found for the nape: the rate of the scalp is used.']
      : []),
    ...(longestMm > OFTEN_TERMINAL_MM
      ? ['Beyond about 38 cm many heads grow no longer: shedding and breakage are not counted.']
      : []),
    'How much one person’s growth differs from month to month is not published; it is taken as steady.',
  ];
}

/** A length in words, to the millimetre, and to the tenth below 10. */
export function mm(value: number): string {
  return `${Math.abs(value) < 9.95 ? value.toFixed(1).replace(/\.0$/, '') : value.toFixed(0)} mm`;
}
