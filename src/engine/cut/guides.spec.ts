import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { buildFallTable } from '../shape/fall.js';
import { ZONES, type Zone } from '../zones.js';
import { type Cut, type CutFormula, type CutStep, cutHead } from './index.js';
import { guideLengthMm, scalpOf } from './scalp.js';

const ALL = [...ZONES];
const head = buildHead({ rootCount: 900 });
const fall = buildFallTable(head);
const { position, count } = head.roots;
const rootsOf = (...zones: Zone[]): number[] =>
  [...head.roots.zone.keys()].filter((i) => zones.includes(ZONES[head.roots.zone[i]!]!));
const x = (i: number): number => position[3 * i]!;
const even = (zones: readonly Zone[], lengthMm: number): CutStep => ({ kind: 'even', zones, lengthMm });
const others = (...zones: Zone[]): Zone[] => ALL.filter((zone) => !zones.includes(zone));
/** No zone is blended into another. */
const apart: CutFormula['connections'] = ZONES.flatMap((a, i) =>
  ZONES.slice(i + 1).map((b) => ({ between: [a, b] as const, join: 'disconnected' as const })),
);
const cut = (
  steps: readonly CutStep[],
  more: Partial<CutFormula> = {},
  present?: Float32Array | Float64Array,
): Cut => cutHead(head, fall, { steps, connections: apart, ...more }, present);
const zoneOf = (made: Cut, zone: Zone): Cut['zones'][number] => made.zones.find((of) => of.zone === zone)!;
const grown = (mm: (root: number) => number): Float64Array =>
  Float64Array.from({ length: count }, (_, i) => mm(i));

describe('the guide of a zone', () => {
  const travelling = (more: object): CutStep =>
    ({
      kind: 'travelling',
      zones: ['crown'],
      guide: { kind: 'length', lengthMm: 70 },
      section: 'horizontal',
      elevationDegrees: 45,
      ...more,
    }) as CutStep;

  it('lies at the edge its first step started from, whatever comes later', () => {
    // 45 degrees: 70 at the whorl, and cos 45 less for every mm down to the lower edge.
    const above = zoneOf(cut([travelling({ startAt: 'above' }), even(ALL, 400)]), 'crown');
    expect(above.guideMm).toBeCloseTo(70, 1);
    expect(above.minMm).toBeLessThan(50);
    const below = zoneOf(cut([travelling({}), travelling({ startAt: 'above' }), even(ALL, 400)]), 'crown');
    expect(below.guideMm).toBeLessThan(60);
  });

  it('lies where the hair is shortest after a stationary guide', () => {
    const stationary: CutStep = {
      kind: 'stationary',
      zones: ['crown'],
      anchor: 'apex',
      lengthMm: 60,
      shape: 'plane',
      held: 'up',
    };
    // A level leaves the height under it: the shortest hair stands highest, not at an edge.
    const made = zoneOf(cut([stationary, even(ALL, 400)]), 'crown');
    const highest = Math.max(...rootsOf('crown').map((i) => position[3 * i + 2]!));
    expect(made.guideMm).toBeCloseTo(150 - highest, 4);
  });

  it('taken from a zone that lies level is what that has beside the zones cut by it', () => {
    // The back is 40 long on the left and 90 on the right; few of its guide's roots stand beside the left side.
    const isLeft = new Set(rootsOf('left-side'));
    const present = grown((i) => (isLeft.has(i) ? 200 : x(i) < 0 ? 40 : 90));
    const guided = travelling({
      zones: ['left-side'],
      guide: { kind: 'zone', zone: 'back' },
      elevationDegrees: 90,
    });
    const made = cut([guided], {}, present);
    for (const i of isLeft) expect(made.lengthMm[i]).toBeCloseTo(40, 3);
  });

  it('taken from a zone that was cut from its upper edge is what that has there', () => {
    // 45 degrees down from 70 at the whorl; the ways of the fringe lead down to the hairline, none into the crown.
    const made = cut([
      travelling({ startAt: 'above' }),
      travelling({ zones: ['fringe'], guide: { kind: 'zone', zone: 'crown' }, elevationDegrees: 90 }),
      even(others('crown', 'fringe'), 100),
    ]);
    for (const i of rootsOf('fringe')) expect(made.lengthMm[i]).toBeCloseTo(70, 1);
  });

  it('taken from a zone above or below is its mean where no way leads into it', () => {
    const isNape = new Set(rootsOf('nape'));
    const present = grown((i) => (isNape.has(i) ? (x(i) < 0 ? 40 : 90) : 200));
    const nape = guideLengthMm(scalpOf(head), 'below', 'nape', present);
    // On either side as many, but for the slope within the strip.
    expect(Math.abs(nape - 65)).toBeLessThan(10);
    const guided = travelling({
      zones: ['left-side'],
      guide: { kind: 'zone', zone: 'nape' },
      elevationDegrees: 90,
    });
    const sides = cut([guided], {}, present);
    const { start } = scalpOf(head).down;
    const alone = rootsOf('left-side').filter((i) => start[i + 1]! - start[i]! === 1);
    expect(alone.length).toBeGreaterThan(5);
    for (const i of alone) expect(sides.lengthMm[i]).toBeCloseTo(nape, 3);
  });

  it('taken from a zone without a step is its measured length rather than the present one', () => {
    const guided = travelling({
      zones: ['back'],
      guide: { kind: 'zone', zone: 'nape' },
      elevationDegrees: 90,
    });
    const present = grown(() => 80);
    const made = cut([guided], { measuredMm: { nape: 30 } }, present);
    for (const i of rootsOf('nape', 'back')) expect(made.lengthMm[i]).toBeCloseTo(30, 3);
    const known = cut([guided], {}, present);
    for (const i of rootsOf('nape', 'back')) expect(known.lengthMm[i]).toBeCloseTo(80, 3);
    const measured = cut([guided, even(others('nape', 'back'), 50)], { measuredMm: { nape: 30 } });
    for (const i of rootsOf('nape', 'back')) expect(measured.lengthMm[i]).toBeCloseTo(30, 3);
  });
});
