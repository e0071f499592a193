import { EngineError, requireNumber } from '../errors.js';
import { addDays, ageProfile, type GrowthProfile, loadingsOf, zoneName, zoneRate } from '../growth/index.js';
import { ZONES, type Zone } from '../zones.js';
import { type GrowingZone, readyDays } from './ready-days.js';

export interface ReshapeZone {
  readonly zone: Zone;
  readonly presentMm: number;
  readonly presentSdMm: number;
  readonly wantedMm: number;
  /** Longest this hair gets before it is shed, where it is known. */
  readonly terminalMm?: number;
}

export interface ReshapeInput {
  readonly profile: GrowthProfile;
  /** ISO date of today's visit. */
  readonly on: string;
  readonly zones: readonly ReshapeZone[];
  /** Days between the visits on the way; 42 when not given. */
  readonly stageEveryDays?: number;
  /** Taken off a growing zone at each visit on the way to keep its ends sound; 0 leaves it alone. */
  readonly dustMm?: number;
  /** On the way `zone` is left no more than `maxShorterMm` shorter than `against`. */
  readonly blend?: readonly { readonly zone: Zone; readonly against: Zone; readonly maxShorterMm: number }[];
}

export interface ReshapeOutlook {
  readonly zone: Zone;
  readonly state: 'cut-now' | 'grow';
  /** What can come off today, and what lacks; one of the two is 0. */
  readonly cutMm: number;
  readonly missingMm: number;
  /** Dates on which the zone is long enough with probability 50 and 90 %; today where it is already. */
  readonly ready50On: string;
  readonly ready90On: string;
  readonly ready50Days: number;
  readonly ready90Days: number;
  readonly words: string;
}

export interface ReshapeStage {
  readonly on: string;
  readonly days: number;
  readonly kind: 'today' | 'tidy' | 'target';
  /** Expected length of each zone when the visit is over, for the drawing. */
  readonly lengthsMm: Readonly<Partial<Record<Zone, number>>>;
  /** Expected length taken off at the visit. */
  readonly takeOffMm: Readonly<Partial<Record<Zone, number>>>;
}

export interface Reshape {
  readonly feasibleToday: boolean;
  readonly zones: readonly ReshapeOutlook[];
  /** Dates on which all zones together are long enough with probability 50 and 90 %. */
  readonly ready50On: string;
  readonly ready90On: string;
  readonly ready50Days: number;
  readonly ready90Days: number;
  readonly stages: readonly ReshapeStage[];
  readonly words: string;
}

const DEFAULT_STAGE_DAYS = 42;

/**
 * The way from the hair on the head to other lengths. A zone at least as long as wanted is cut today (later only as far
 * as blending with a growing neighbour holds it back); one that is too short is left to grow, or dusted by `dustMm` at
 * each visit, which costs time and is counted; the others are tidied back on the way. The dates: deficit against
 * rate * days - dusting with the error of today's length, all zones sharing the person's growth; lengths in the stages
 * are expected values, and the last stage is the visit on which everything is expected to be there.
 *
 * Throws ENGINE.IMPOSSIBLE where dusting takes as much as grows, where a wanted length lies beyond the terminal length,
 * and where growing would take more than ten years; other EngineErrors name the field.
 */
export function reshapePath(asked: ReshapeInput): Reshape {
  const input = { ...asked, profile: ageProfile(asked.profile, asked.on) };
  const every = Math.round(
    requireNumber(input.stageEveryDays ?? DEFAULT_STAGE_DAYS, 'stageEveryDays', 7, 365),
  );
  const dustMm = requireNumber(input.dustMm ?? 0, 'dustMm', 0, 100);
  const loadings = loadingsOf(input.profile);
  const growing = input.zones.flatMap((zone) => growingZone(input.profile, zone, every, dustMm) ?? []);
  const zones = input.zones.map((zone) => outlook(input.on, zone, growing, loadings));
  const [ready50Days, ready90Days] = readyDays(loadings, growing);
  const stages = stagesOf(input, growing, every, dustMm, ready50Days);
  const ready50On = addDays(input.on, ready50Days);
  const ready90On = addDays(input.on, ready90Days);
  const feasibleToday = growing.length === 0;
  const slowest = zones.reduce((a, b) => (b.ready50Days > a.ready50Days ? b : a));
  return {
    feasibleToday,
    zones,
    ready50On,
    ready90On,
    ready50Days,
    ready90Days,
    stages,
    words: feasibleToday
      ? 'Can be cut today.'
      : `From about ${ready50On}, almost surely by ${ready90On}: the ${zoneName(slowest.zone)} lacks ${Math.round(slowest.missingMm)} mm.`,
  };
}

function growingZone(
  profile: GrowthProfile,
  { zone, presentMm, presentSdMm, wantedMm, terminalMm }: ReshapeZone,
  every: number,
  dustMm: number,
): GrowingZone | null {
  requireNumber(presentMm, 'presentMm', 0, 2000);
  requireNumber(presentSdMm, 'presentSdMm', 0, 200);
  requireNumber(wantedMm, 'wantedMm', 0, 2000);
  if (wantedMm <= presentMm) return null;
  if (terminalMm !== undefined && wantedMm > requireNumber(terminalMm, 'terminalMm', 0, 2000)) {
    throw new EngineError(
      'ENGINE.IMPOSSIBLE',
      'wantedMm',
      `The ${zoneName(zone)} is not expected to grow beyond ${terminalMm} mm: want less of it.`,
    );
  }
  if (dustMm >= every * zoneRate(profile, zone).meanMmPerDay) {
    throw new EngineError(
      'ENGINE.IMPOSSIBLE',
      'dustMm',
      `Taking ${dustMm} mm off the ${zoneName(zone)} every ${every} days takes as much as grows: dust less, or less often.`,
    );
  }
  return { zone, deficitMm: wantedMm - presentMm, sdMm: presentSdMm, dustMmPerDay: dustMm / every };
}

function outlook(
  on: string,
  { zone, presentMm, wantedMm }: ReshapeZone,
  growing: readonly GrowingZone[],
  loadings: Float64Array,
): ReshapeOutlook {
  const grows = growing.filter((other) => other.zone === zone);
  const [ready50Days, ready90Days] = readyDays(loadings, grows);
  const cutMm = Math.max(0, presentMm - wantedMm);
  const missingMm = Math.max(0, wantedMm - presentMm);
  const ready50On = addDays(on, ready50Days);
  return {
    zone,
    state: grows.length > 0 ? 'grow' : 'cut-now',
    cutMm,
    missingMm,
    ready50Days,
    ready90Days,
    ready50On,
    ready90On: addDays(on, ready90Days),
    words:
      missingMm > 0
        ? `too short today, ${Math.round(missingMm)} mm missing, there about ${ready50On}`
        : cutMm > 0
          ? `take off ${Math.round(cutMm)} mm`
          : 'as wanted today',
  };
}

function stagesOf(
  input: ReshapeInput,
  growing: readonly GrowingZone[],
  every: number,
  dustMm: number,
  readyDay: number,
): ReshapeStage[] {
  const days = [0];
  // A tidy within a week of the last visit is left out: it would be done twice.
  for (let day = every; day < readyDay - 7; day += every) days.push(day);
  if (readyDay > 0) days.push(readyDay);
  const rates = new Map(input.zones.map(({ zone }) => [zone, zoneRate(input.profile, zone).meanMmPerDay]));
  const isGrowing = (zone: Zone) => growing.some((other) => other.zone === zone);
  let lengths = new Map(input.zones.map(({ zone, presentMm }) => [zone, presentMm]));
  return days.map((day, i) => {
    const since = day - (days[i - 1] ?? 0);
    const grown = new Map([...lengths].map(([zone, mm]) => [zone, mm + since * (rates.get(zone) ?? 0)]));
    const isLast = day === readyDay;
    const after = new Map<Zone, number>();
    for (const { zone, wantedMm } of input.zones) {
      const mm = grown.get(zone) ?? 0;
      // The last day is rounded: what is expected to be there within half a day's growth is drawn as wanted.
      if (isLast) after.set(zone, wantedMm);
      else if (isGrowing(zone)) after.set(zone, Math.min(wantedMm, mm - (day === 0 ? 0 : dustMm)));
      else after.set(zone, Math.min(mm, wantedMm));
    }
    if (!isLast) blendInto(after, grown, input);
    lengths = after;
    const inOrder = ZONES.filter((zone) => after.has(zone));
    return {
      on: addDays(input.on, day),
      days: day,
      kind: isLast ? 'target' : day === 0 ? 'today' : 'tidy',
      lengthsMm: Object.fromEntries(inOrder.map((zone) => [zone, after.get(zone) ?? 0])),
      takeOffMm: Object.fromEntries(
        inOrder.map((zone) => [zone, Math.max(0, (grown.get(zone) ?? 0) - (after.get(zone) ?? 0))]),
      ),
    };
  });
}

/** Leaves more on a zone where its neighbour asks for it, never more than there is. */
function blendInto(after: Map<Zone, number>, grown: ReadonlyMap<Zone, number>, input: ReshapeInput): void {
  for (const { zone, against, maxShorterMm } of input.blend ?? []) {
    requireNumber(maxShorterMm, 'maxShorterMm', 0, 2000);
    const neighbour = after.get(against);
    const own = after.get(zone);
    if (neighbour === undefined || own === undefined) continue;
    after.set(zone, Math.min(grown.get(zone) ?? own, Math.max(own, neighbour - maxShorterMm)));
  }
}
