import { describe, expect, it } from '@jest/globals';
import { PROJECTIONS, VIEWS, type View } from './view.js';

const seen = (view: View, x: number, y: number) => {
  const { uOfX, uOfY, depthOfX, depthOfY } = PROJECTIONS[view];
  return [uOfX * x + uOfY * y, depthOfX * x + depthOfY * y];
};

/** x is the client's right, y the front: what a viewer on each side has to the right (u) and towards him (depth). */
describe('views', () => {
  it.each([
    { view: 'right', nose: [100, 0], rightEar: [0, 70] },
    { view: 'left', nose: [-100, 0], rightEar: [0, -70] },
    { view: 'back', nose: [0, -100], rightEar: [70, 0] },
    { view: 'front', nose: [0, 100], rightEar: [-70, 0] },
  ] as const)('from the $view the nose is at $nose and the right ear at $rightEar', (one) => {
    expect(seen(one.view, 0, 100).map((mm) => mm + 0)).toEqual(one.nose);
    expect(seen(one.view, 70, 0).map((mm) => mm + 0)).toEqual(one.rightEar);
  });

  it('are four', () => {
    expect([...VIEWS].sort()).toEqual(Object.keys(PROJECTIONS).sort());
  });
});
