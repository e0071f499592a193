import { MEASURING_SD_MM } from '../src/cuts/index.js';
import { observeGrowth } from '../src/engine/growth/index.js';
import { ZONES, type Zone } from '../src/engine/zones.js';
import type { Calendar, Day } from './calendar.js';
import type { Life } from './life.js';
import type { Rows } from './rows.js';
import type { Shape } from './shape-terms.js';
import { wanted } from './shapes.js';

const SHORT_ENOUGH_FOR_A_RULER_MM = 25;
/** One slip in so many measurements, and how far it is off. */
const SLIPS = 0.006;
const SLIP_MM = 70;
/** How much longer than today's shape the hair of a new client is. */
const UNCUT_MM = { low: 15, high: 60 } as const;

/** A zone's real length on a day; nobody in the salon knows it. */
function trueLength(life: Life, zone: Zone, day: Day): number | undefined {
  const hair = life.hair.get(zone);
  return hair && hair.trueMm + (life.trueRates.get(zone) ?? 0) * (day - hair.leftOn);
}

/**
 * Measures some zones on arrival, with the error of the tool, and teaches the growth profile through the engine as
 * the salon would. On a first visit there is nothing to compare with, and nobody measures.
 */
export function measureOnArrival(
  rows: Rows,
  calendar: Calendar,
  life: Life,
  visitId: string,
  day: Day,
): void {
  const { dice } = life;
  for (const zone of dice.shuffled(ZONES).slice(0, dice.whole(2, 4))) {
    const hair = life.hair.get(zone);
    const trueMm = trueLength(life, zone, day);
    if (!hair || trueMm === undefined || day <= hair.leftOn) continue;
    const tool = trueMm < SHORT_ENOUGH_FOR_A_RULER_MM ? 'ruler' : 'hand';
    const sdMm = MEASURING_SD_MM[tool];
    const slipMm = dice.chance(SLIPS) ? SLIP_MM : 0;
    const lengthMm = Math.max(1, Math.round(dice.normal(trueMm, sdMm) + slipMm));
    const measuredOn = calendar.date(day);
    const lesson = observeGrowth(life.profile, {
      zone,
      leftMm: hair.leftMm,
      leftSdMm: hair.leftSdMm,
      days: day - hair.leftOn,
      measuredMm: lengthMm,
      measuredSdMm: sdMm,
      on: measuredOn,
    });
    life.profile = lesson.profile;
    life.measured ||= lesson.verdict !== 'set-aside';
    // What cannot have grown from the length on record starts anew from the measured one, unless it is cut today.
    if (lesson.verdict === 'set-aside') {
      life.hair.set(zone, { trueMm, leftMm: lengthMm, leftSdMm: sdMm, leftOn: day });
    }
    rows.measurements.push({
      id: dice.id(calendar.at(day, 540)),
      clientId: life.client.id,
      visitId,
      zone,
      lengthMm,
      sdMm,
      tool,
      measuredOn,
      verdict: lesson.note,
    });
  }
}

/** Cuts those zones to the shape; the others keep their length and the day they were left at it. */
export function cutZones(life: Life, shape: Shape, zones: readonly Zone[], day: Day): void {
  for (const length of wanted(shape)) {
    const presentMm = trueLength(life, length.zone, day);
    const isNew = presentMm === undefined;
    if (!isNew && (length.grows || !zones.includes(length.zone))) continue;
    const meantMm = life.dice.normal(length.leftMm, length.leftSdMm);
    const availableMm = presentMm ?? length.leftMm + life.dice.whole(UNCUT_MM.low, UNCUT_MM.high);
    life.hair.set(length.zone, {
      trueMm: Math.max(0.5, Math.min(meantMm, availableMm)),
      leftMm: length.leftMm,
      leftSdMm: length.leftSdMm,
      leftOn: day,
    });
  }
}
