import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from '@jest/globals';
import { projectRoot } from '../base/index.js';
import type { CutStep, ZoneNow } from '../cuts/index.js';
import type { LimitOutlook } from '../engine/plan/index.js';
import { SHAPE_CSS } from '../engine/shape/index.js';
import { holdRow, termsOf, windowView, zoneRow } from './card-view.js';
import type { Ruler } from './lengths.js';

const spoken = { locale: 'en-GB', today: '2026-05-14' };
const cm: Ruler = { units: 'cm', fingerWidthMm: 18 };

const step = (over: Partial<CutStep> = {}): CutStep =>
  ({
    method: 'travelling-guide',
    section: 'vertical',
    elevationDeg: 45,
    guide: 'travelling',
    guideAt: null,
    overDirectedTo: null,
    overDirectedSections: 0,
    fingerAngleDeg: 0,
    lengthAtGuideMm: null,
    endLengthMm: null,
    stepPerSectionMm: 0,
    technique: 'club',
    tool: null,
    leftToGrow: false,
    notes: '',
    ...over,
  }) as CutStep;

const zone = (nowMm: number, wantedMm: number): ZoneNow =>
  ({
    zone: 'nape',
    left: { leftMm: 12, leftOn: '2026-04-02', wantedMm },
    days: 42,
    now: { meanMm: nowMm, lowMm: nowMm - 3, highMm: nowMm + 3, sdMm: 1.8 },
    takeOff: {
      meanMm: nowMm - wantedMm,
      lowMm: nowMm - wantedMm - 3,
      highMm: nowMm - wantedMm + 3,
      missingMm: Math.max(0, wantedMm - nowMm),
      words: '',
    },
    rate: { meanMmPerDay: 0.35, sdMmPerDay: 0.06 },
    knowledge: 'not measured yet: 0.35 mm a day assumed at the nape',
    steps: [step()],
  }) as unknown as ZoneNow;

describe('a row of the growth-adjusted formula', () => {
  it('gives left, now with its range, wanted and take off in the salon’s units and in fingers', () => {
    // 42 days at 0.35 mm a day are 14.7 mm: the worked figure of the growth model.
    const row = zoneRow(zone(26.7, 12), 1, cm, spoken);
    expect(row).toMatchObject({
      left: '1.2 cm',
      leftOn: '2 Apr',
      now: '2.7 cm',
      nowRange: '2.4–3.0 cm',
      wanted: '1.2 cm',
      takeOff: '1.5 cm',
      takeOffFingers: '1 finger',
      short: false,
    });
    expect(row.why).toContain('42 days');
    expect(row.why).toContain('Not measured yet');
  });

  it('says what is missing where the hair is too short, and never asks to take off less than nothing', () => {
    const row = zoneRow(zone(26.7, 60), 1, cm, spoken);
    expect(row).toMatchObject({ takeOff: '3.3 cm too short', takeOffFingers: '', short: true });
    expect(row.why).toContain('0.0–0.0 cm');
  });

  it('says “nothing” where the hair is as wanted', () => {
    expect(zoneRow(zone(12.3, 12), 1, cm, spoken).takeOff).toBe('nothing');
  });
});

describe('how a zone was cut', () => {
  const terms = (over: Partial<CutStep>) =>
    termsOf(step(over), cm).map(({ name, value }) => `${name}: ${value}`);

  it('names what was recorded and leaves out the rest', () => {
    expect(terms({})).toEqual([
      'Section: vertical',
      'Elevation: 45°',
      'Guide: travelling',
      'Technique: club (blunt)',
    ]);
  });

  it('tells over-direction by sections and towards where, and where a stationary guide stands', () => {
    expect(
      terms({
        method: 'stationary-guide',
        guide: 'stationary',
        guideAt: 'the apex',
        overDirectedTo: 'crown',
        overDirectedSections: 1,
        lengthAtGuideMm: 41,
        tool: 'guard 2',
      }),
    ).toEqual([
      'Section: vertical',
      'Elevation: 45°',
      'Guide: stationary at the apex',
      'Over-direction: 1 section back towards the crown',
      'At the guide: 4.1 cm',
      'Technique: club (blunt)',
      'Tool: guard 2',
    ]);
  });
});

describe('hold and window', () => {
  const outlook = (earliestOn: string, dueOn: string, latestOn: string): LimitOutlook =>
    ({
      zone: 'nape',
      reason: 'the nape has grown by 6 mm',
      earliestOn,
      dueOn,
      latestOn,
      beyondHorizon: [],
      probability: 0.62,
    }) as unknown as LimitOutlook;

  it.each([
    ['2026-05-15', '2026-05-20', '2026-05-30', 'holds'],
    ['2026-05-14', '2026-05-20', '2026-05-30', 'going'],
    ['2026-05-01', '2026-05-10', '2026-05-14', 'gone'],
  ])('with the window %s, %s, %s the zone %s', (earliest, due, latest, words) => {
    expect(holdRow(outlook(earliest, due, latest), cm, spoken).words).toBe(words);
  });

  it('tells why, and how likely it is the first to go', () => {
    const row = holdRow(outlook('2026-05-15', '2026-05-20', '2026-05-30'), cm, spoken);
    expect(row.reason).toBe('The nape has grown by 0.6 cm');
    expect(row.first).toBe('62 % likely to be the first to go');
  });

  it.each([
    ['2026-05-15', '2026-05-20', '2026-05-30', 'The shape holds.'],
    ['2026-05-10', '2026-05-14', '2026-05-30', 'The window is open.'],
    ['2026-05-01', '2026-05-10', '2026-05-14', 'The shape has probably gone; still inside the window.'],
    ['2026-05-01', '2026-05-05', '2026-05-13', 'The window has passed.'],
  ])('with the window %s, %s, %s it says: %s', (earliestOn, dueOn, latestOn, stands) => {
    expect(windowView({ earliestOn, dueOn, latestOn, reason: 'the nape has grown' }, cm, spoken).stands).toBe(
      stands,
    );
  });
});

it('paints drawings as the engine’s palette says, in both themes', () => {
  const sheet = readFileSync(join(projectRoot(), 'templates/assets/card.css'), 'utf8').replace(/\s/g, '');
  const paints = SHAPE_CSS.match(/--shape-[a-z]+:#[0-9a-f]{6}/g) ?? [];
  expect(paints).toHaveLength(18);
  expect(paints.filter((paint) => !sheet.includes(paint))).toEqual([]);
});
