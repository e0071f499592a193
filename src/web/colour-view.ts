import type { RootBandToday, WholeColourFormula } from '../colour/index.js';
import { ZONES } from '../engine/zones.js';
import { dayText, type Spoken, shortDay } from './days.js';
import { lengthText, type Ruler, rangeText } from './lengths.js';
import { counted, ZONE_WORDS } from './words.js';

export const PLACE_WORDS = {
  roots: 'roots',
  lengths: 'lengths',
  'roots-and-lengths': 'roots and lengths',
} as const;

/** Tubes that the form has room for; the further ones are folded away while they are empty. */
export const LINES_SHOWN = [1, 2, 3] as const;
export const LINES_FOLDED = [4, 5, 6, 7, 8, 9, 10, 11, 12] as const;
const LINES_OFFERED = [...LINES_SHOWN, ...LINES_FOLDED] as const;

/** The root band with its interval, and the days on which it passes what the client bears. */
export function bandView(band: RootBandToday, ruler: Ruler, spoken: Spoken) {
  const { units } = ruler;
  const { meanMm, lowMm, highMm, days } = band.band;
  const { passes, toleranceMm } = band;
  const never = passes?.beyondHorizon.includes('due');
  const past = passes !== null && !never && spoken.today >= passes.dueOn;
  return {
    zone: ZONE_WORDS[band.zone].toLowerCase(),
    width: lengthText(meanMm, units),
    range: rangeText(lowMm, highMm, units),
    coloured: dayText(band.colouredOn, spoken),
    days: counted(days, 'day'),
    rate: `${(band.rateMmPerDay * 30.4).toFixed(1)} mm a month`,
    knowledge: band.knowledge,
    source: band.source,
    tolerance: toleranceMm === null ? '' : lengthText(toleranceMm, units),
    passes: passes && {
      earliest: dayText(passes.earliestOn, spoken),
      due: dayText(passes.dueOn, spoken),
      latest: dayText(passes.latestOn, spoken),
      never,
      words: never
        ? 'It does not pass it within two years.'
        : past
          ? 'It has probably passed it.'
          : `It passes it about ${dayText(passes.dueOn, spoken)}.`,
    },
  };
}

/** A mixture as it was put on. */
export function mixtureView({ formula, lines, developerVolumes }: WholeColourFormula, spoken: Spoken) {
  const { developerPercent, developerParts } = formula;
  return {
    id: formula.id,
    visitId: formula.visitId,
    on: shortDay(formula.colouredOn, spoken),
    name: formula.name,
    zones: formula.zones.map((zone) => ZONE_WORDS[zone].toLowerCase()).join(', '),
    place: PLACE_WORDS[formula.place],
    lines: lines.map(({ productLine, shade, parts }) => ({ productLine, shade, parts: partsText(parts) })),
    developer:
      developerPercent === null
        ? 'none'
        : `${developerPercent} % (${developerVolumes} volumes), ${partsText(developerParts ?? 0)}`,
    minutes: `${formula.minutes} min`,
    notes: formula.notes,
  };
}

function partsText(parts: number): string {
  return counted(parts, 'part');
}

/** A new mixture's form: empty, or as an earlier one was mixed. */
export function firstMixture(
  source: WholeColourFormula | undefined,
  productLine: string,
): Record<string, string> {
  const { formula, lines = [] } = source ?? {};
  const values: Record<string, string> = {
    name: formula?.name ?? 'Roots',
    place: formula?.place ?? 'roots',
    developer: formula?.developerPercent == null ? '' : String(formula.developerPercent),
    developerUnit: 'percent',
    developerParts: formula?.developerParts == null ? '' : String(formula.developerParts),
    minutes: formula ? String(formula.minutes) : '',
    notes: '',
  };
  for (const zone of formula?.zones ?? ZONES) values[`zone.${zone}`] = 'true';
  for (const place of LINES_OFFERED) {
    const line = lines[place - 1];
    values[`line.${place}.productLine`] = line?.productLine ?? (place === 1 && !source ? productLine : '');
    values[`line.${place}.shade`] = line?.shade ?? '';
    values[`line.${place}.parts`] = line ? String(line.parts) : '';
  }
  return values;
}

export type ReadMixture = {
  readonly input: Record<string, unknown>;
  readonly rename: (field: string) => string;
};

/** The form as the service takes it; rows of the bowl that were left empty are left out. */
export function readMixture(values: Readonly<Record<string, string>>): ReadMixture {
  const text = (name: string) => (values[name] ?? '').trim();
  const number = (name: string) => text(name).replace(',', '.');
  const places = LINES_OFFERED.filter((place) =>
    ['productLine', 'shade', 'parts'].some((part) => text(`line.${place}.${part}`) !== ''),
  );
  const strength = text('developerUnit') === 'volumes' ? 'developerVolumes' : 'developerPercent';
  return {
    input: {
      name: text('name'),
      zones: ZONES.filter((zone) => values[`zone.${zone}`] === 'true'),
      place: text('place'),
      lines: places.map((place) => ({
        productLine: text(`line.${place}.productLine`),
        shade: text(`line.${place}.shade`),
        parts: number(`line.${place}.parts`),
      })),
      [strength]: number('developer'),
      developerParts: number('developerParts'),
      minutes: text('minutes'),
      notes: text('notes'),
    },
    rename: (field) => {
      const [, index, part] = /^lines\.(\d+)\.(\w+)$/.exec(field) ?? [];
      if (part) return `line.${places[Number(index)]}.${part}`;
      if (field === 'lines') return 'line.1.productLine';
      return field === 'developerPercent' || field === 'developerVolumes' ? 'developer' : field;
    },
  };
}
