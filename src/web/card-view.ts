import type { CutStep, GrowthAdjusted, Measurement, Visit, ZoneNow } from '../cuts/index.js';
import { explainLength, growthPrior } from '../engine/growth/index.js';
import { explainTakeOff, type LimitOutlook, type RebookingWindow } from '../engine/plan/index.js';
import type { Service, Staff } from '../salon/index.js';
import { dayText, type Spoken, shortDay } from './days.js';
import { fingersText, lengthText, type Ruler, rangeText } from './lengths.js';
import { told, whyView } from './told.js';
import { counted, METHOD_WORDS, SECTION_WORDS, TECHNIQUE_WORDS, ZONE_WORDS } from './words.js';

export type Term = { readonly name: string; readonly value: string };

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function guideText(step: CutStep): string {
  const kind = step.guide ?? (step.method === 'stationary-guide' ? 'stationary' : null);
  if (kind === null && step.guideAt === null) return '';
  return [kind, step.guideAt && `at ${step.guideAt}`].filter(Boolean).join(' ');
}

function overDirectionText(step: CutStep): string {
  const towards = step.overDirectedTo && `towards the ${ZONE_WORDS[step.overDirectedTo].toLowerCase()}`;
  const sections =
    step.overDirectedSections > 0 ? `${counted(step.overDirectedSections, 'section')} back` : '';
  return [sections, towards].filter(Boolean).join(' ');
}

/** How a zone was held and cut, as short named terms; what was not recorded is left out. */
export function termsOf(step: CutStep, ruler: Ruler): Term[] {
  const length = (mm: number | null) => (mm === null ? '' : lengthText(mm, ruler.units));
  const degrees = (angle: number | null) => (angle === null ? '' : `${Math.round(angle)}°`);
  const terms: Term[] = [
    { name: 'Section', value: step.section ? SECTION_WORDS[step.section] : '' },
    { name: 'Elevation', value: degrees(step.elevationDeg) },
    { name: 'Guide', value: guideText(step) },
    { name: 'Over-direction', value: overDirectionText(step) },
    { name: 'Cutting line', value: step.fingerAngleDeg === 0 ? '' : degrees(step.fingerAngleDeg) },
    { name: 'At the guide', value: length(step.lengthAtGuideMm) },
    { name: 'Ends at', value: length(step.endLengthMm) },
    { name: 'Each section', value: step.stepPerSectionMm === 0 ? '' : length(step.stepPerSectionMm) },
    { name: 'Technique', value: TECHNIQUE_WORDS[step.technique] },
    { name: 'Tool', value: step.tool ?? '' },
  ];
  const method =
    step.method === 'travelling-guide' || step.method === 'stationary-guide' ? '' : METHOD_WORDS[step.method];
  return [{ name: 'Method', value: method }, ...terms].filter(({ value }) => value !== '');
}

function takeOffText({ takeOff }: ZoneNow, ruler: Ruler): string {
  const mm = Math.round(takeOff.meanMm);
  if (mm === 0) return 'nothing';
  if (mm < 0) return `${lengthText(takeOff.missingMm, ruler.units)} too short`;
  return lengthText(takeOff.meanMm, ruler.units);
}

/** One row of the growth-adjusted formula in the salon's units. */
export function zoneRow(zone: ZoneNow, place: number, ruler: Ruler, spoken: Spoken) {
  const { units } = ruler;
  const leftToGrow =
    zone.steps.some((step) => step.leftToGrow) || zone.left.leftMm > zone.left.wantedMm + 0.5;
  const grown = zone.now.meanMm - zone.left.leftMm;
  return {
    place,
    zone: ZONE_WORDS[zone.zone],
    left: lengthText(zone.left.leftMm, units),
    leftOn: shortDay(zone.left.leftOn, spoken),
    now: lengthText(zone.now.meanMm, units),
    nowRange: rangeText(zone.now.lowMm, zone.now.highMm, units),
    wanted: lengthText(zone.left.wantedMm, units),
    takeOff: takeOffText(zone, ruler),
    takeOffFingers: fingersText(zone.takeOff.meanMm, ruler.fingerWidthMm),
    short: Math.round(zone.takeOff.meanMm) < 0,
    leftToGrow,
    why:
      `${counted(zone.days, 'day')} since it was left at ${lengthText(zone.left.leftMm, units)}: about ` +
      `${lengthText(grown, units)} grown. ${capital(zone.knowledge)}. The range holds 9 heads in 10; ` +
      `the take-off lies between ${rangeText(Math.max(0, zone.takeOff.lowMm), Math.max(0, zone.takeOff.highMm), units)}.`,
    steps: zone.steps.map((step) => ({ terms: termsOf(step, ruler), notes: step.notes })),
  };
}

/** Everything behind a zone's length and its take-off. */
function zoneReasons(zone: ZoneNow, profile: GrowthAdjusted['profile'], ruler: Ruler, spoken: Spoken) {
  const { leftMm, leftSdMm, wantedMm } = zone.left;
  const input = { zone: zone.zone, leftMm, leftSdMm, days: zone.days };
  const length = explainLength(profile, input, zone.now);
  const takeOff = explainTakeOff(profile, input, zone.now, wantedMm, zone.takeOff);
  return {
    length: { figure: length.figure, value: told(length.value, ruler, spoken) },
    takeOff: whyView(takeOff, ruler, spoken),
  };
}

const HOLD_WORDS = { clear: 'holds', late: 'going', stop: 'gone' } as const;

function holdSign(outlook: LimitOutlook, today: string): keyof typeof HOLD_WORDS {
  if (today < outlook.earliestOn) return 'clear';
  return today < outlook.latestOn ? 'late' : 'stop';
}

/** How long one zone keeps reading as intended, and what ends it. */
export function holdRow(outlook: LimitOutlook, ruler: Ruler, spoken: Spoken) {
  const sign = holdSign(outlook, spoken.today);
  const never = outlook.beyondHorizon.includes('due');
  return {
    zone: ZONE_WORDS[outlook.zone],
    sign,
    words: HOLD_WORDS[sign],
    until: never
      ? 'not within two years'
      : `${spoken.today > outlook.dueOn ? 'held ' : ''}to about ${dayText(outlook.dueOn, spoken)}`,
    reason: capital(told(outlook.reason, ruler, spoken)),
    between: `1 in 10 by ${dayText(outlook.earliestOn, spoken)}, 9 in 10 by ${dayText(outlook.latestOn, spoken)}`,
    first: `${Math.round(outlook.probability * 100)} % likely to be the first to go`,
  };
}

const HOW =
  'By the earliest date 1 shape in 10 like this has gone, by the due date half, by the latest 9 in 10: reckoned from the lengths that were left, the growth and the hold limits, all zones sharing the person’s growth.';

export type WindowDates = {
  readonly earliestOn: string;
  readonly dueOn: string;
  readonly latestOn: string;
  readonly reason: string;
};

/** The rebooking window with its reason in words, and where today stands in it. */
export function windowView(window: WindowDates, ruler: Ruler, spoken: Spoken) {
  const { today } = spoken;
  const date = (on: string) => dayText(on, spoken);
  const stands =
    today < window.earliestOn
      ? 'The shape holds.'
      : today <= window.dueOn
        ? 'The window is open.'
        : today <= window.latestOn
          ? 'The shape has probably gone; still inside the window.'
          : 'The window has passed.';
  return {
    earliest: date(window.earliestOn),
    due: date(window.dueOn),
    latest: date(window.latestOn),
    reason: `${capital(told(window.reason, ruler, spoken))} about ${date(window.dueOn)}.`,
    stands,
    past: today > window.latestOn,
    open: today >= window.earliestOn,
    how: HOW,
    sources: `Growth, where the client stated and measured nothing: ${growthPrior().source} Hold limits are the salon’s own (common practice, no source).`,
  };
}

export type WindowView = ReturnType<typeof windowView>;

export type History = {
  readonly visits: readonly Visit[];
  readonly measurements: readonly Measurement[];
  readonly services: readonly Service[];
  readonly staff: readonly Staff[];
  /** Names of the formulas as cut, by id. */
  readonly formulaNames: ReadonlyMap<string, string>;
};

/** Visits newest first; without `cuts` neither formulas nor lengths are told. */
export function timeline(history: History, ruler: Ruler, spoken: Spoken, cuts: boolean) {
  return history.visits.map((visit) => ({
    on: dayText(visit.visitOn, spoken),
    service: history.services.find(({ id }) => id === visit.serviceId)?.name ?? '',
    staff: history.staff.find(({ id }) => id === visit.staffId)?.name ?? '',
    priceMinor: visit.priceMinor,
    notes: visit.notes,
    formula: cuts && visit.formulaId ? (history.formulaNames.get(visit.formulaId) ?? '') : '',
    formulaId: visit.formulaId,
    measured: cuts
      ? history.measurements
          .filter(({ visitId }) => visitId === visit.id)
          .map(({ zone, lengthMm, verdict }) => ({
            zone: ZONE_WORDS[zone],
            length: lengthText(lengthMm, ruler.units),
            verdict,
          }))
      : [],
  }));
}

/** The growth-adjusted formula and, with limits, the hold of each zone. */
export function cutView(
  adjusted: GrowthAdjusted,
  window: RebookingWindow | undefined,
  ruler: Ruler,
  spoken: Spoken,
) {
  return {
    name: adjusted.whole.formula.name,
    notes: adjusted.whole.formula.notes,
    on: dayText(adjusted.on, spoken),
    rows: adjusted.zones.map((zone, i) => ({
      ...zoneRow(zone, i + 1, ruler, spoken),
      reasons: zoneReasons(zone, adjusted.profile, ruler, spoken),
    })),
    links: adjusted.whole.links.map(({ zone, neighbour, kind }) => ({
      pair: `${ZONE_WORDS[zone]} and ${ZONE_WORDS[neighbour].toLowerCase()}`,
      kind,
    })),
    holds: window?.perZone.map((outlook) => holdRow(outlook, ruler, { ...spoken, today: adjusted.on })) ?? [],
  };
}
