import {
  addDays,
  type GrowthPrior,
  type GrowthProfile,
  growthPrior,
  initialProfile,
  observeVisit,
  projectLength,
} from '../../src/engine/growth/index.js';
import { seededNormal, seededUniform } from '../../src/engine/stats/index.js';
import { ZONES, type Zone } from '../../src/engine/zones.js';

const INTERVAL_DAYS = 35;
const MEASURED_VISITS = 3;
const LEFT_SD_MM = 2;
const MEASURED: readonly Zone[] = ['fringe', 'top', 'nape'];
/** The rule of thumb of 1.25 cm a month (common practice, no source). */
const RULE_MM_PER_DAY = 12.5 / 30.4375;

export type Circumstances = {
  /** Spread from which the clients' true rates are drawn; the engine's own where nothing else is said. */
  readonly drawnFrom?: GrowthPrior;
  /** What the engine starts from. */
  readonly startsFrom?: GrowthPrior;
  /** Error of a measurement, standard deviation in mm; 5 for a hand. */
  readonly handSdMm?: number;
  /** Visits measured before the one that is predicted; three. */
  readonly measured?: number;
  /** Part of the measurements that are off by 25 to 40 mm either way; 'one' for just one a client. */
  readonly blunders?: number | 'one';
  /** Part of the intervals in which somebody else took 8 to 20 mm off everywhere. */
  readonly unrecordedCuts?: number;
};

export type Outcome = {
  /** Shares of the next true lengths, and of the next readings by the same hand, inside their 90 % interval. */
  readonly coversLength: number;
  readonly coversReading: number;
  readonly medianErrorMm: number;
  readonly medianRuleErrorMm: number;
  /** Mean width of the interval against that before any measurement. */
  readonly widthToPrior: number;
};

/** Persons drawn from a published spread, measured every five weeks, then the next visit's nape is predicted. */
export function simulatedClients(
  clients: number,
  {
    startsFrom = growthPrior(),
    drawnFrom = startsFrom,
    handSdMm = 5,
    measured = MEASURED_VISITS,
    blunders = 0,
    unrecordedCuts = 0,
  }: Circumstances = {},
): Outcome {
  const uniform = seededUniform(4);
  const normal = seededNormal(uniform);
  const fresh = initialProfile(startsFrom);
  const errors: number[] = [];
  const ruleErrors: number[] = [];
  const width = { own: 0, prior: 0 };
  let coversLength = 0;
  let coversReading = 0;
  for (let client = 0; client < clients; client += 1) {
    const person = drawnFrom.personSdMmPerDay * normal();
    const rates = ZONES.map(() => drawnFrom.meanMmPerDay + person + drawnFrom.zoneSdMmPerDay * normal());
    const rateOf = (zone: Zone) => rates[ZONES.indexOf(zone)] ?? 0;
    const blunderAt = blunders === 'one' ? Math.floor(uniform() * measured * MEASURED.length) : -1;
    let reading = 0;
    let profile: GrowthProfile = fresh;
    for (let visit = 1; visit <= measured; visit += 1) {
      const lost = uniform() < unrecordedCuts ? 8 + 12 * uniform() : 0;
      const seen = MEASURED.map((zone) => {
        const isBlunder = blunders === 'one' ? reading === blunderAt : uniform() < blunders;
        reading += 1;
        const blunder = isBlunder ? (25 + 15 * uniform()) * (uniform() < 0.5 ? -1 : 1) : 0;
        const trueMm = 60 + LEFT_SD_MM * normal() + rateOf(zone) * INTERVAL_DAYS - lost;
        return {
          zone,
          leftMm: 60,
          leftSdMm: LEFT_SD_MM,
          days: INTERVAL_DAYS,
          measuredMm: Math.max(0, trueMm + blunder + handSdMm * normal()),
          measuredSdMm: handSdMm,
          on: addDays('2025-01-06', INTERVAL_DAYS * visit),
        };
      });
      profile = observeVisit(profile, seen).profile;
    }
    const next = { zone: 'nape', leftMm: 60, leftSdMm: LEFT_SD_MM, days: INTERVAL_DAYS } as const;
    const lengthMm = 60 + LEFT_SD_MM * normal() + rateOf('nape') * INTERVAL_DAYS;
    const readingMm = lengthMm + handSdMm * normal();
    const length = projectLength(profile, next);
    const readAs = projectLength(profile, { ...next, measuredSdMm: handSdMm });
    const blind = projectLength(fresh, next);
    if (length.lowMm <= lengthMm && lengthMm <= length.highMm) coversLength += 1;
    if (readAs.lowMm <= readingMm && readingMm <= readAs.highMm) coversReading += 1;
    width.own += length.highMm - length.lowMm;
    width.prior += blind.highMm - blind.lowMm;
    errors.push(Math.abs(length.meanMm - lengthMm));
    ruleErrors.push(Math.abs(60 + RULE_MM_PER_DAY * INTERVAL_DAYS - lengthMm));
  }
  const median = (values: number[]) => values.sort((a, b) => a - b)[values.length / 2] ?? 0;
  return {
    coversLength: coversLength / clients,
    coversReading: coversReading / clients,
    medianErrorMm: median(errors),
    medianRuleErrorMm: median(ruleErrors),
    widthToPrior: width.own / width.prior,
  };
}
