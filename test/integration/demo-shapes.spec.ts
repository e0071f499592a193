import { describe, expect, it } from '@jest/globals';
import type { Shape } from '../../seed/shape-terms.js';
import { HOUSE_SHAPES, SHORTER, wanted } from '../../seed/shapes.js';
import { CLIPPED_SIDES, LAYERED_PIXIE, LONG_BACKED_CROP, SQUARE_CROP } from '../../seed/shapes-in-layers.js';
import {
  GRADUATED_BOB,
  ONE_LENGTH,
  STACKED_WEDGE,
  UNDERCUT_BOB,
  WEDGE_PIXIE,
} from '../../seed/shapes-with-weight.js';
import { cutShape, growthToLandmark } from '../../src/cuts/index.js';
import { buildHead } from '../../src/engine/head/index.js';
import { cornerOverRidge } from '../../src/engine/shape/index.js';
import type { Zone } from '../../src/engine/zones.js';

// Trade facts of the shapes: common practice, no source. Heights in mm from the middle of the head.
const { head, cut, of } = (() => {
  const mean = buildHead({});
  const cutOf = (shape: Shape) => cutShape({}, { ...shape, lengths: wanted(shape) });
  return { head: mean, cut: cutOf, of: (shape: Shape) => cutOf(shape).cut.zones };
})();
const { occipital, nape, brow } = head.landmarks;
const meanMm = (shape: Shape, zone: Zone) => of(shape).find((length) => length.zone === zone)!.meanMm;

describe('the shapes of the house', () => {
  it('are eight, and every one is cut as it is written down', () => {
    expect(HOUSE_SHAPES).toHaveLength(8);
    for (const [shape] of HOUSE_SHAPES) {
      const { zones, clamped } = cut(shape).cut;
      expect(clamped).toEqual([]);
      for (const { zone, guideMm } of zones) {
        const written = shape.lengths.find((length) => length.zone === zone)!.leftMm;
        // The lengths on record are those at the guide.
        expect(Math.abs(guideMm - written)).toBeLessThan(10);
      }
    }
  });

  it('one length: all hair ends in one line, at the jaw and off the collar', () => {
    const { weightLine } = cut(ONE_LENGTH);
    expect(weightLine.share10).toBeGreaterThan(0.9);
    expect(weightLine.lineZMm).toBeLessThan(nape.z - 10);
    expect(growthToLandmark(cut(ONE_LENGTH), 'back', 'collar')).toBeGreaterThan(10);
  });

  it.each([STACKED_WEDGE, WEDGE_PIXIE, UNDERCUT_BOB])(
    '$name: the weight line lies at the occipital bone',
    (shape) => {
      const { weightLine } = cut(shape);
      expect(weightLine.kind).not.toBe('none');
      expect(Math.abs(weightLine.lineZMm! - occipital.z)).toBeLessThan(10);
    },
  );

  it('graduated bob: the weight lies lower, between the occipital bone and the nape, and the front is longer', () => {
    const { weightLine } = cut(GRADUATED_BOB);
    expect(weightLine.lineZMm).toBeLessThan(occipital.z - 10);
    expect(weightLine.lineZMm).toBeGreaterThan(nape.z);
    expect(meanMm(GRADUATED_BOB, 'left-side')).toBeGreaterThan(meanMm(GRADUATED_BOB, 'back') + 20);
  });

  it('wedge pixie and undercut bob: the clipped nape lies under hair that is several times as long', () => {
    for (const shape of [WEDGE_PIXIE, UNDERCUT_BOB]) {
      expect(meanMm(shape, 'back')).toBeGreaterThan(4 * meanMm(shape, 'nape'));
      expect(shape.links).toContainEqual({ zone: 'nape', neighbour: 'back', kind: 'disconnected' });
    }
  });

  it('long-backed layered crop: longest at the nape, below the hairline, short over the ears and above the eyes', () => {
    const shape = cut(LONG_BACKED_CROP);
    for (const { zone, meanMm: mm } of shape.cut.zones) {
      if (zone !== 'nape') expect(meanMm(LONG_BACKED_CROP, 'nape')).toBeGreaterThan(mm);
    }
    expect(growthToLandmark(shape, 'nape', 'nape-hairline')).toBeLessThan(-50);
    expect(growthToLandmark(shape, 'fringe', 'upper-lid')).toBeGreaterThan(5);
    expect(brow.z).toBeGreaterThan(head.landmarks.upperLid.z);
  });

  it('layered pixie: no weight line, shorter towards the nape', () => {
    expect(cut(LAYERED_PIXIE).weightLine.kind).toBe('none');
    const down = (['top', 'crown', 'back', 'nape'] as const).map((zone) => meanMm(LAYERED_PIXIE, zone));
    expect([...down].sort((a, b) => b - a)).toEqual(down);
  });

  it('square-layered crop: corners over the parietal ridge on both sides, which the others do not have', () => {
    const corners = (shape: Shape) => cornerOverRidge(head.roots, cut(shape).shape.lengthsMm);
    expect(corners(SQUARE_CROP)).toMatchObject({ left: true, right: true });
    expect(corners(LAYERED_PIXIE)).toMatchObject({ left: false, right: false });
    expect(corners(CLIPPED_SIDES)).toMatchObject({ left: false, right: false });
  });

  it('clipped back and sides: by guards, with a top several times as long', () => {
    const guards = CLIPPED_SIDES.steps.filter(({ method }) => method === 'clipper-guard');
    expect(guards.map(({ zone }) => zone)).toEqual(['nape', 'back', 'left-side', 'right-side']);
    expect(meanMm(CLIPPED_SIDES, 'top')).toBeGreaterThan(3 * meanMm(CLIPPED_SIDES, 'left-side'));
  });

  it('are reshaped only into what growth of two months allows', () => {
    const TWO_MONTHS_MM = 20;
    for (const [from, to] of SHORTER) {
      for (const { zone, leftMm } of to.lengths) {
        const before = from.lengths.find((length) => length.zone === zone)!.leftMm;
        expect(leftMm).toBeLessThanOrEqual(before + TWO_MONTHS_MM);
      }
    }
  });
});
