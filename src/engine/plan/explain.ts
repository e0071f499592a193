import type { LengthProjection, ProjectionInput } from '../growth/index.js';
import {
  describeProfile,
  explainLength,
  type GrowthProfile,
  knowledgeEnds,
  mm,
  type Why,
  zoneName,
} from '../growth/index.js';
import { ZONES, type Zone } from '../zones.js';
import { type HoldLimit, limitInWords, limitZone } from './limits.js';
import type { TidiesInput, TidiesPlan } from './plan-tidies.js';
import type { Reshape, ReshapeInput } from './reshape.js';
import type { TakeOff } from './take-off.js';
import type { RebookingWindow } from './window.js';
import type { WindowInput } from './window-row.js';

const LIMITS_ARE_OURS =
  'Hold limits are the salon’s own (common practice, no source) until a stylist’s marks have moved them.';

/** Why to come back on these dates. */
export function explainWindow(input: WindowInput, window: RebookingWindow): Why {
  const { first } = window;
  const zones = zonesOf(input.limits);
  return {
    figure: 'Rebooking window',
    value: `${window.earliestOn} to ${window.latestOn}, due ${window.dueOn}`,
    inputs: [
      { name: 'cut on', value: input.cutOn },
      ...input.zones
        .filter(({ zone }) => zones.includes(zone))
        .map(({ zone, leftMm, leftSdMm, leftOn }) => ({
          name: zoneName(zone),
          value: `left at ${mm(leftMm)} ± ${mm(leftSdMm)}${leftOn === undefined ? '' : ` on ${leftOn}`}`,
        })),
      ...input.limits.map((limit) => ({ name: 'ends when', value: limitInWords(limit) })),
    ],
    rates: zones.map((zone) => describeProfile(input.profile, zone)),
    limit: `${first.reason}: first to go ${Math.round(10 * first.probability)} times in 10, by itself about ${first.dueOn}`,
    formula:
      'on each day, the chance that every limit still holds, with all zones sharing the person’s growth; earliest, due and latest are the days on which it has fallen to 90, 50 and 10 %',
    sources: [input.profile.prior.source],
    knowledgeEnds: [
      ...(window.beyondHorizon.length > 0
        ? [
            `Not reached within two years: ${window.beyondHorizon.join(', ')}; the date shown is where the sum stops.`,
          ]
        : []),
      LIMITS_ARE_OURS,
      ...knowledgeEnds(input.profile, zones, 0),
    ],
  };
}

/** Why to take off so much today. */
export function explainTakeOff(
  profile: GrowthProfile,
  input: ProjectionInput,
  projected: LengthProjection,
  wantedMm: number,
  today: TakeOff,
): Why {
  const length = explainLength(profile, input, projected);
  return {
    ...length,
    figure: `Take off the ${zoneName(input.zone)} today`,
    value: `${today.words}; 9 times in 10 between ${mm(today.lowMm)} and ${mm(today.highMm)}`,
    inputs: [...length.inputs, { name: 'wanted', value: mm(wantedMm) }],
    formula: `take off = projected − wanted, where ${length.formula}`,
  };
}

/** Why these visits, and none cheaper. */
export function explainTidies(input: TidiesInput, plan: TidiesPlan): Why {
  const zones = plan.reach.map(({ zone }) => zone);
  return {
    figure: `Visits from ${input.from}`,
    value: plan.words,
    inputs: [
      {
        name: input.full.name,
        value: `price ${input.full.price}, ${input.full.minutes} minutes, at least every ${input.fullEveryWeeks} weeks`,
      },
      ...input.tidies.map((tidy) => ({
        name: tidy.name,
        value: `price ${tidy.price}, ${tidy.minutes} minutes, ${tidy.zones.map(zoneName).join(', ')}`,
      })),
    ],
    rates: zones.map((zone) => describeProfile(input.profile, zone)),
    limit: plan.reach
      .map(({ limit, grownMm }) => `${limitInWords(limit)} (grows ${mm(grownMm)} at most)`)
      .join('; '),
    formula: `of all choices of visits on the allowed days the one with the least ${input.wish === 'price' ? 'price' : 'time'}, then the fewest visits; found exactly, by dynamic programming`,
    sources: [input.profile.prior.source],
    knowledgeEnds: [
      'Expected growth only: each single date is as unsure as its own window says.',
      LIMITS_ARE_OURS,
      ...knowledgeEnds(input.profile, zones, 0),
    ],
  };
}

/** Why the other shape is possible from that date on. */
export function explainReshape(input: ReshapeInput, path: Reshape): Why {
  const growing = path.zones.filter(({ state }) => state === 'grow');
  const longestMm = Math.max(...input.zones.map(({ wantedMm }) => wantedMm));
  return {
    figure: 'Reshape',
    value: path.words,
    inputs: input.zones.map(({ zone, presentMm, presentSdMm, wantedMm }) => ({
      name: zoneName(zone),
      value: `${mm(presentMm)} ± ${mm(presentSdMm)} today, ${mm(wantedMm)} wanted`,
    })),
    rates: growing.map(({ zone }) => describeProfile(input.profile, zone)),
    limit: null,
    formula:
      'ready when rate × days − dusting makes up what lacks; the two dates are those on which all zones have done so with probability 50 and 90 %, sharing the person’s growth',
    sources: [input.profile.prior.source],
    knowledgeEnds: knowledgeEnds(
      input.profile,
      growing.map(({ zone }) => zone),
      longestMm,
    ),
  };
}

function zonesOf(limits: readonly HoldLimit[]): Zone[] {
  const named = new Set(
    limits.flatMap((limit) => (limit.kind === 'contrast' ? [limit.zone, limit.against] : [limitZone(limit)])),
  );
  return ZONES.filter((zone) => named.has(zone));
}
