/** What a client has said about herself. Nothing here is ever guessed from a name, a photograph or a look. */
export interface StatedByClient {
  readonly ancestry?: 'african' | 'asian' | 'european';
  readonly age?: 'before-puberty' | 'young-adult' | 'mature-adult' | 'older-adult';
}

/** Where a growth profile starts: scalp hair growth in mm a day, before any measurement of this client. */
export interface GrowthPrior {
  readonly meanMmPerDay: number;
  /** Standard deviation between persons. */
  readonly personSdMmPerDay: number;
  /** Standard deviation between the zones of one person. */
  readonly zoneSdMmPerDay: number;
  readonly source: string;
}

const ZONE_SHARE = 0.08;

// Loussouarn, El Rawadi, Genain 2005, Int J Dermatol 44(S1):6-9, adults, micrometres a day.
const BY_ANCESTRY = {
  african: { meanMmPerDay: 0.28, personSdMmPerDay: 0.05 },
  european: { meanMmPerDay: 0.367, personSdMmPerDay: 0.056 },
  asian: { meanMmPerDay: 0.411, personSdMmPerDay: 0.053 },
} as const;

// Myers, Hamilton 1951, Ann NY Acad Sci 53:562; no spread was seen, so ours is kept.
const BY_AGE = {
  'before-puberty': 0.41,
  'young-adult': 0.3,
  'mature-adult': 0.34,
  'older-adult': 0.32,
} as const;

/**
 * The published growth rate to start from.
 *
 * Without a statement: 0.35 mm a day, 0.06 between persons, zones 8 % apart; these three are this engine's
 * own summary of the published figures, not a published result. A stated ancestry takes the mean and spread
 * of Loussouarn et al. 2005; a stated age alone the mean of Myers and Hamilton 1951. No source gives both
 * together, so where both are stated the ancestry's figures are used and the text says so.
 */
export function growthPrior(stated: StatedByClient = {}): GrowthPrior {
  if (stated.ancestry !== undefined) {
    const group = BY_ANCESTRY[stated.ancestry];
    const age =
      stated.age === undefined
        ? ''
        : ' The stated age is not used: no source gives age and ancestry together.';
    return {
      ...group,
      zoneSdMmPerDay: ZONE_SHARE * group.meanMmPerDay,
      source: `Loussouarn, El Rawadi, Genain 2005, Int J Dermatol 44(S1):6-9, adults who gave the same ancestry as this client. Zones 8 % apart: our assumption.${age}`,
    };
  }
  if (stated.age !== undefined) {
    const meanMmPerDay = BY_AGE[stated.age];
    return {
      meanMmPerDay,
      personSdMmPerDay: 0.06,
      zoneSdMmPerDay: ZONE_SHARE * meanMmPerDay,
      source:
        'Myers, Hamilton 1951, Ann NY Acad Sci 53:562, mean of the stated age. Spread between persons and zones: our assumption.',
    };
  }
  return {
    meanMmPerDay: 0.35,
    personSdMmPerDay: 0.06,
    zoneSdMmPerDay: ZONE_SHARE * 0.35,
    source:
      'Our summary of Loussouarn et al. 2001, 2005 and 2016, Saitoh et al. 1970 and Myers, Hamilton 1951: 0.35 mm a day, 0.06 between persons, zones 8 % apart. No published figure was found for the nape.',
  };
}
