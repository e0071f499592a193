import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../../head/index.js';
import { buildFallTable } from '../fall.js';
import { evenRates } from '../grow.js';
import { outlineFrom, type Silhouette, silhouette } from '../outline.js';
import { growShape, type HairShape, hairShape } from '../tips.js';
import { VIEWS } from '../view.js';
import { drawShape } from './draw-shape.js';
import { earEdge } from './ear.js';
import { drawStrip } from './strip.js';
import { shapeInWords } from './words.js';

// A tenth of the usual roots shows what lies where; how large a drawing gets is asked of a whole head.
const head = buildHead({ rootCount: 400 });
const fall = buildFallTable(head);
const shapeOf = (lengthMm: number, on = { head, fall }) =>
  hairShape(on.head, on.fall, new Float32Array(on.fall.count).fill(lengthMm));
const layers = silhouette(shapeOf(80));
const words = { id: 'd', title: 'Right profile', description: 'Even layers' };

/** Ids an SVG defines and ids it refers to. */
const ids = (svg: string) => ({
  defined: [...svg.matchAll(/ id="([^"]+)"/g)].map(([, id]) => id),
  used: [...svg.matchAll(/(?:url\(|href=")#([\w-]+)/g)].map(([, id]) => id),
});

describe('drawShape', () => {
  it.each(VIEWS)('draws from the %s: every id once, every reference answered', (view) => {
    const { defined, used } = ids(
      drawShape(layers, view, { ...words, ghost: outlineFrom(silhouette(shapeOf(95)), view) }),
    );
    expect(new Set(defined).size).toBe(defined.length);
    expect(defined).toEqual(expect.arrayContaining(used));
  });

  it('is named and described for those who hear it, and nothing can break out of the words', () => {
    const svg = drawShape(layers, 'back', { id: 'd', title: '<b> & "c"', description: "d'\u0007" });
    expect(svg).toContain('role="img" aria-labelledby="d-t d-d"');
    expect(svg).toContain(
      '<title id="d-t">&lt;b&gt; &amp; &quot;c&quot;</title><desc id="d-d">d&#39; </desc>',
    );
  });

  it('takes its colours from the page, or brings them for a file of its own', () => {
    expect(drawShape(layers, 'back', words)).not.toContain('<style>');
    expect(drawShape(layers, 'back', words)).toContain('fill="var(--shape-hair,');
    expect(drawShape(layers, 'back', { ...words, standalone: true })).toContain('prefers-color-scheme:dark');
  });

  it('refuses an id that would not stand in a reference', () => {
    for (const id of ['', '1a', 'a b', 'a"b']) {
      expect(() => drawShape(layers, 'back', { ...words, id })).toThrow(
        expect.objectContaining({ field: 'id' }),
      );
    }
  });

  it('marks the weight line on the outer edge of the hair', () => {
    const window = { zMm: -40, lowMm: -45, highMm: -35, share10: 0.4 };
    const marked = drawShape(layers, 'right', {
      ...words,
      weightLine: { ...window, kind: 'window', lineZMm: -40 },
    });
    const none = drawShape(layers, 'right', {
      ...words,
      weightLine: { ...window, kind: 'none', lineZMm: null },
    });
    expect(marked).toContain('--shape-mark');
    expect(none).not.toContain('--shape-mark');
  });

  it('reaches down to where long hair ends', () => {
    const high = (silhouetteOf: Silhouette) =>
      Number(/viewBox="\S+ \S+ \S+ (\S+)"/.exec(drawShape(silhouetteOf, 'back', words))?.[1]);
    expect(high(silhouette(shapeOf(40)))).toBe(320);
    expect(high(silhouette(shapeOf(400)))).toBeGreaterThan(500);
  });

  it('draws a larger head larger', () => {
    const large = buildHead({ circumferenceMm: 616, rootCount: 200 });
    const shape = shapeOf(80, { head: large, fall: buildFallTable(large) });
    expect(drawShape(silhouette(shape), 'left', words)).toContain('transform="scale(-1.1 1.1)"');
  });
});

describe('earEdge', () => {
  it('leaves the whole ear free of clipped hair and none of it free of long hair', () => {
    const clipped = earEdge(silhouette(shapeOf(6)), 'right');
    expect(Math.min(...clipped!.filter((_, i) => i % 2 === 1))).toBeGreaterThan(-25);
    expect(earEdge(silhouette(shapeOf(150)), 'right')).toBeNull();
  });

  it('runs from the viewer’s left to right on both sides', () => {
    for (const view of ['right', 'left'] as const) {
      const u = earEdge(silhouette(shapeOf(20)), view)!.filter((_, i) => i % 2 === 0);
      expect([...u].sort((a, b) => a - b)).toEqual(u);
    }
  });
});

describe('drawStrip', () => {
  const framesOf = (today: HairShape) =>
    [0, 21, 35, 56].map((days, i) => ({
      silhouette: silhouette(growShape(today, evenRates(0.35), days)),
      label: ['Today', '3 weeks', '5 weeks', '8 weeks'][i]!,
    }));

  it('puts the dates side by side in at most 25 KB, each with its label', () => {
    const whole = buildHead();
    const frames = framesOf(shapeOf(60, { head: whole, fall: buildFallTable(whole) }));
    const svg = drawStrip(frames, 'right', words);
    expect(svg.length).toBeLessThanOrEqual(25 * 1024);
    for (const { label } of frames) expect(svg).toContain(`>${label}</text>`);
    const { defined, used } = ids(svg);
    expect(new Set(defined).size).toBe(defined.length);
    expect(defined).toEqual(expect.arrayContaining(used));
  });

  it('refuses one date alone and more than four', () => {
    const frames = framesOf(shapeOf(60));
    expect(() => drawStrip(frames.slice(0, 1), 'right', words)).toThrow(
      expect.objectContaining({ field: 'frames' }),
    );
    expect(() => drawStrip([...frames, frames[0]!], 'right', words)).toThrow(
      expect.objectContaining({ field: 'frames' }),
    );
  });
});

describe('shapeInWords', () => {
  const window = { zMm: -40, lowMm: -45, highMm: -35, share10: 0.4 };
  it('says where the hair ends and where the weight lies', () => {
    expect(
      shapeInWords(
        [
          { zone: 'fringe', landmark: 'brow', aboveMm: 4, growthMm: 4 },
          { zone: 'fringe', landmark: 'upper-lid', aboveMm: 17, growthMm: 17 },
          { zone: 'nape', landmark: 'nape-hairline', aboveMm: -52, growthMm: -52 },
          { zone: 'left-side', landmark: 'ear-canal', aboveMm: 0.4, growthMm: 0.4 },
        ],
        { ...window, kind: 'window', lineZMm: -40 },
      ),
    ).toBe(
      'Fringe ends 0.4 cm above the brow. Nape ends 5.2 cm below the nape hairline. Left side ends at the ear canal. ' +
        'Weight line 4.0 cm below the widest part of the head; 40 % of the ends lie within 1 cm.',
    );
  });

  it('says when there is no line, and reads a graduation from its top', () => {
    expect(shapeInWords([], { ...window, kind: 'none', lineZMm: null })).toBe('No weight line.');
    expect(shapeInWords([], { ...window, kind: 'graduation', lineZMm: -71.8 })).toContain('7.2 cm below');
  });
});
