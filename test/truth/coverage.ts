import { growthPrior } from '../../src/engine/growth/index.js';
import type { TruthRow } from './row.js';
import { type Circumstances, simulatedClients } from './simulated-clients.js';

const OURS = 'true rates drawn from 0.35 ± 0.06 mm a day between persons, 8 % between zones';
const LOUSSOUARN = 'Loussouarn, El Rawadi, Genain 2005, Int J Dermatol 44(S1):6-9';

/** A 90 % interval must hold 88 to 92 %, whatever has befallen the record. */
const MUST = 0.02;
type Case = {
  readonly name: string;
  readonly source: string;
  readonly given: Circumstances;
  readonly tolerance: number | null;
};

const CASES: readonly Case[] = [
  { name: 'nothing measured yet', source: OURS, given: { measured: 0 }, tolerance: MUST },
  ...(['african', 'european', 'asian'] as const).map((ancestry) => ({
    name: `${ancestry} ancestry stated, three visits measured ± 5 mm`,
    source: LOUSSOUARN,
    given: { startsFrom: growthPrior({ ancestry }) },
    tolerance: MUST,
  })),
  {
    name: 'three visits measured ± 1 mm (guards)',
    source: OURS,
    given: { handSdMm: 1 },
    tolerance: MUST,
  },
  { name: 'three visits measured ± 5 mm (by hand)', source: OURS, given: {}, tolerance: MUST },
  {
    name: 'one visit in 20 hides an unrecorded cut of 8 to 20 mm',
    source: OURS,
    given: { unrecordedCuts: 0.05 },
    tolerance: MUST,
  },
  {
    name: 'one visit in three hides an unrecorded cut: told, not judged',
    source: OURS,
    given: { unrecordedCuts: 1 / 3 },
    tolerance: null,
  },
  {
    name: 'one blunder of 25 to 40 mm in every client’s record',
    source: OURS,
    given: { blunders: 'one' },
    tolerance: MUST,
  },
  {
    name: 'one measurement in 20 a blunder and one visit in 20 an unrecorded cut',
    source: OURS,
    given: { blunders: 0.05, unrecordedCuts: 0.05 },
    tolerance: MUST,
  },
  ...(['african', 'asian'] as const).flatMap((ancestry) =>
    [0, 3].map((measured) => ({
      name: `${ancestry} ancestry that nobody stated, ${measured} visits measured: told, not judged`,
      source: LOUSSOUARN,
      given: { drawnFrom: growthPrior({ ancestry }), measured },
      tolerance: null,
    })),
  ),
];

/** Coverage of the 90 % intervals of the next length and the next reading, over simulated clients. */
export function coverageTruths(clients: number): TruthRow[] {
  return CASES.flatMap(({ name, source, given, tolerance }): TruthRow[] => {
    const { coversLength, coversReading } = simulatedClients(clients, given);
    return [
      { what: `share of next lengths in 90 %: ${name}`, source, theirs: 0.9, ours: coversLength, tolerance },
      {
        what: `share of next readings in 90 %: ${name}`,
        source,
        theirs: 0.9,
        ours: coversReading,
        tolerance,
      },
    ];
  });
}
