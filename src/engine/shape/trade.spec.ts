import { describe, expect, it } from '@jest/globals';
import { type CutFormula, type CutStep, cutHead, type TravellingStep } from '../cut/index.js';
import { buildHead } from '../head/index.js';
import { ZONES, type Zone } from '../zones.js';
import { contrasts } from './contrast.js';
import { cornerOverRidge } from './corner.js';
import { buildFallTable } from './fall.js';
import { landmarkReadings } from './landmarks.js';
import { type HairShape, hairShape } from './tips.js';
import { weightLine, weightWindowOf } from './weight-line.js';

// Facts of the trade: common practice, no source.
const head = buildHead({ rootCount: 1500 });
const fall = buildFallTable(head);
const BEHIND: readonly Zone[] = ['nape', 'back'];
const APART = ZONES.flatMap((a, i) =>
  ZONES.slice(i + 1).map((b) => ({ between: [a, b] as const, join: 'disconnected' as const })),
);

function cut(
  steps: readonly CutStep[],
  connections: CutFormula['connections'] = APART,
): HairShape & { spreadMm: Float32Array } {
  const named = new Set(steps.flatMap(({ zones }) => zones));
  const others = ZONES.filter((zone) => !named.has(zone));
  const rest: CutStep[] = others.length > 0 ? [{ kind: 'even', zones: others, lengthMm: 80 }] : [];
  const { lengthMm, spreadMm } = cutHead(head, fall, { steps: [...steps, ...rest], connections });
  return { ...hairShape(head, fall, lengthMm), spreadMm };
}

function travelling(
  section: TravellingStep['section'],
  elevationDegrees: number,
  lengthMm = 100,
): TravellingStep {
  return {
    kind: 'travelling',
    zones: BEHIND,
    guide: { kind: 'length', lengthMm },
    section,
    elevationDegrees,
  };
}

const share10 = (step: CutStep) => weightWindowOf(cut([step]), BEHIND).share10;

describe('weight', () => {
  it('is built by low horizontal sections and taken away by high vertical ones, with diagonal between', () => {
    const low = share10(travelling('horizontal', 30));
    const diagonal = share10(travelling('diagonal-forward', 45));
    const high = share10(travelling('vertical', 90));
    expect(low).toBeGreaterThan(1.5 * diagonal);
    expect(diagonal).toBeGreaterThan(1.5 * high);
  });

  it('shows a line at low elevation and none in even layers', () => {
    expect(weightLine(weightWindowOf(cut([travelling('horizontal', 30)]), BEHIND)).kind).toBe('window');
    expect(
      weightLine(weightWindowOf(cut([{ kind: 'even', zones: BEHIND, lengthMm: 100 }]), BEHIND)).kind,
    ).toBe('none');
  });

  it('falls step by step as the hair is lifted from 0 to 90 degrees', () => {
    const shares = [0, 30, 45, 60, 75, 90].map((elevation) => share10(travelling('horizontal', elevation)));
    expect([...shares].sort((a, b) => b - a)).toEqual(shares);
  });
});

describe('softened ends', () => {
  it.each(['point', 'slice'] as const)('%s cutting softens the line and leaves the lengths', (technique) => {
    const blunt = cut([travelling('horizontal', 30)]);
    const soft = cut([travelling('horizontal', 30), { kind: 'texture', zones: BEHIND, technique }]);
    expect(soft.lengthsMm).toEqual(blunt.lengthsMm);
    const softened = weightWindowOf(soft, BEHIND, soft.spreadMm).share10;
    expect(softened).toBeLessThan(0.85 * weightWindowOf(blunt, BEHIND, blunt.spreadMm).share10);
  });
});

describe('backs', () => {
  const hangs = (shape: HairShape) =>
    Math.min(
      ...landmarkReadings(shape)
        .filter(({ landmark }) => landmark === 'nape-hairline')
        .map(({ aboveMm }) => aboveMm),
    );

  it('a stacked wedge ends in its point at the back hairline, an extended back hangs below it', () => {
    const stack = travelling('horizontal', 75, 10);
    const wedge = cut([stack]);
    const extended = cut([
      { ...stack, zones: ['back'] },
      { kind: 'even', zones: ['nape'], lengthMm: 70 },
    ]);
    expect(hangs(wedge)).toBeGreaterThan(-15);
    expect(hangs(extended)).toBeLessThan(-50);
  });

  it('a disconnection stays one and blending closes it', () => {
    const steps: CutStep[] = [
      { kind: 'even', zones: ['nape'], lengthMm: 6 },
      { kind: 'even', zones: ['back'], lengthMm: 60 },
    ];
    const find = (shape: HairShape) =>
      contrasts(head.roots, shape.lengthsMm).find(
        ({ longer, shorter }) => longer === 'back' && shorter === 'nape',
      );
    const open = find(cut(steps));
    expect(open?.atBorderMm).toBeCloseTo(54, 1);
    expect(open?.ratio).toBeCloseTo(10, 5);
    const joined = cut(steps, [{ between: ['back', 'nape'], join: 'blended', widthMm: 40 }]);
    expect(find(joined)?.atBorderMm).toBeLessThan(27);
  });
});

describe('tops', () => {
  it('square cutting keeps corners over the parietal ridge, round cutting removes them', () => {
    const zones: readonly Zone[] = ['fringe', 'top', 'crown', 'left-side', 'right-side'];
    const square = cut([{ kind: 'held-up', zones, anchor: 'apex', lengthMm: 100 }]);
    const round = cut([{ kind: 'even', zones, lengthMm: 100 }]);
    const corner = cornerOverRidge(head.roots, square.lengthsMm);
    expect(corner).toMatchObject({ left: true, right: true });
    // Engine design: a plane 100 above the apex leaves 20.9, 32.1 and 46.1 more where the normal stands at 45, 35 and 25.
    expect(corner.leftMm).toBeGreaterThan(20.9);
    expect(corner.leftMm).toBeLessThan(46.1);
    expect(corner.leftMm).toBeCloseTo(corner.rightMm, 6);
    expect(cornerOverRidge(head.roots, round.lengthsMm)).toMatchObject({ left: false, right: false });
  });
});
