import {
  type GrowthPrior,
  type GrowthProfile,
  growthPrior,
  initialProfile,
  observeGrowth,
  projectLength,
  rootBand,
  zoneRate,
} from '../../src/engine/growth/index.js';
import type { TruthRow } from './row.js';

const fresh = initialProfile(growthPrior());
const DAYS_A_MONTH = 365.25 / 12;

const LOUSSOUARN = 'Loussouarn, El Rawadi, Genain 2005, Int J Dermatol 44(S1):6-9';
const MYERS = 'Myers, Hamilton 1951, Ann NY Acad Sci 53:562';

const PUBLISHED = [
  ['african', 0.28, 0.05],
  ['european', 0.367, 0.056],
  ['asian', 0.411, 0.053],
] as const;

const BY_AGE = [
  ['before-puberty', 0.41],
  ['young-adult', 0.3],
  ['mature-adult', 0.34],
  ['older-adult', 0.32],
] as const;

const rateOf = (profile: GrowthProfile) => zoneRate(profile, 'back').meanMmPerDay;
const grownIn = (days: number, profile = fresh) =>
  projectLength(profile, { zone: 'back', leftMm: 0, leftSdMm: 0, days }).meanMm;

/** One zone seen through one day from 0 mm: the textbook's normal mean with known variance. */
function textbook(mean: number, sd: number, sigma: number, values: readonly number[]) {
  const prior: GrowthPrior = { meanMmPerDay: mean, personSdMmPerDay: sd, zoneSdMmPerDay: 0, source: '' };
  const seen = {
    zone: 'nape',
    leftMm: 0,
    leftSdMm: 0,
    days: 1,
    measuredSdMm: sigma,
    on: '2026-03-02',
  } as const;
  const after = values.reduce(
    (profile, measuredMm) => observeGrowth(profile, { ...seen, measuredMm }).profile,
    initialProfile(prior),
  );
  return zoneRate(after, 'nape');
}

export function growthTruths(): TruthRow[] {
  const hoff = 'Hoff 2009, A First Course in Bayesian Statistical Methods, ch. 5, midges';
  const midges = textbook(1.9, 0.95, Math.sqrt(0.017), [1.64, 1.7, 1.72, 1.74, 1.82, 1.82, 1.82, 1.9, 2.08]);
  const normal = textbook(69, 3, 4, [71]);
  const worked = 'normal-normal update N(69, 3²), sigma 4, x = 71: worked example';
  return [
    ...PUBLISHED.flatMap(([ancestry, mean, sd]): TruthRow[] => {
      const prior = growthPrior({ ancestry });
      return [
        {
          what: `growth, ${ancestry} ancestry stated, mean, mm a day`,
          source: LOUSSOUARN,
          theirs: mean,
          ours: rateOf(initialProfile(prior)),
          tolerance: 1e-9,
        },
        {
          what: `growth, ${ancestry} ancestry stated, sd between persons, mm a day`,
          source: LOUSSOUARN,
          theirs: sd,
          ours: prior.personSdMmPerDay,
          tolerance: 1e-9,
        },
      ];
    }),
    ...BY_AGE.map(
      ([age, mean]): TruthRow => ({
        what: `growth, ${age} stated, mean, mm a day`,
        source: MYERS,
        fromMemory: true,
        theirs: mean,
        ours: rateOf(initialProfile(growthPrior({ age }))),
        tolerance: 1e-9,
      }),
    ),
    {
      what: 'growth, nothing stated, cm a month (back of the head)',
      source: 'LeBeau, Montgomery, Brewer 2011, Forensic Sci Int: mean at the back of the head',
      theirs: 1.06,
      ours: grownIn(DAYS_A_MONTH) / 10,
      tolerance: 0.05,
    },
    {
      what: 'growth, nothing stated, cm a month (convention)',
      source: 'Society of Hair Testing; Cooper, Kronstrand, Kintz 2012, Forensic Sci Int 218:20-24: 1 cm',
      fromMemory: true,
      theirs: 1,
      ours: grownIn(DAYS_A_MONTH) / 10,
      tolerance: 0.1,
    },
    {
      what: 'growth, nothing stated, inches a year (public advice: about six)',
      source: 'American Academy of Dermatology, public advice; known to be round and high',
      theirs: 6,
      ours: grownIn(365.25) / 25.4,
      tolerance: 1.2,
    },
    {
      what: 'growth, vertex, mm a day',
      source: 'Saitoh, Uzuka, Sakamoto 1970, J Invest Dermatol 54:65-81, three men',
      fromMemory: true,
      theirs: 0.44,
      ours: zoneRate(fresh, 'crown').meanMmPerDay,
      // Within two of our standard deviations between persons and zones; three men settle no mean.
      tolerance: 2 * zoneRate(fresh, 'crown').sdMmPerDay,
    },
    { what: 'posterior mean', source: worked, theirs: 69.72, ours: normal.meanMmPerDay, tolerance: 0.005 },
    { what: 'posterior sd', source: worked, theirs: 2.4, ours: normal.sdMmPerDay, tolerance: 0.05 },
    {
      what: 'posterior mean, nine measurements',
      source: hoff,
      fromMemory: true,
      theirs: 1.805,
      ours: midges.meanMmPerDay,
      tolerance: 0.0005,
    },
    {
      what: 'posterior variance, nine measurements',
      source: hoff,
      fromMemory: true,
      theirs: 0.002,
      ours: midges.sdMmPerDay ** 2,
      tolerance: 0.0005,
    },
    {
      what: 'six weeks of growth at 0.35 mm a day, mm',
      source: 'arithmetic: 42 × 0.35',
      theirs: 14.7,
      ours: grownIn(42),
      tolerance: 1e-9,
    },
    {
      what: 'root band six weeks after the colour, mm',
      source: 'arithmetic: 42 × 0.35',
      theirs: 14.7,
      ours: rootBand(fresh, { colouredOn: '2026-03-02', on: '2026-04-13' }).meanMm,
      tolerance: 1e-9,
    },
    {
      what: 'length after three years without a cut at 0.35 mm a day, cm',
      source: 'rate × duration of anagen, 2 to 6 years (secondary): 0.35 × 1095.75 = 38.4',
      theirs: 38.35,
      ours: grownIn(3 * 365.25) / 10,
      tolerance: 0.01,
    },
  ];
}
