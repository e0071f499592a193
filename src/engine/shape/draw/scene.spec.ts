import { describe, expect, it } from '@jest/globals';
import { outlineFrom, type Silhouette } from '../outline.js';
import { drawShape } from './draw-shape.js';
import { fades, figureGroup, uncoveredEar } from './figure-svg.js';
import { PAINT, SHAPE_CSS } from './palette.js';
import { resampleLoop, smoothLoopPath } from './path.js';
import { frameOf, ghostLine, type SceneOptions, sceneOf } from './scene.js';
import { drawStrip } from './strip.js';
import { weightMark } from './weight-mark.js';

type Span = readonly [number, number];
interface Block {
  /** Distance from the middle plane, towards the client's right. */
  readonly x: number;
  readonly y: Span;
  readonly z: Span;
  readonly lengthMm?: number;
}
interface Made {
  readonly blocks?: readonly Block[];
  readonly scale?: number;
  /** Thickness of every row of 6 mm, the topmost from 56 mm down. */
  readonly rowsMm?: readonly number[];
}

/** Hair in blocks, a root of one sample at every 4 mm, each standing for the scalp beneath it; roots lie at 90 mm. */
function hair({ blocks = [], scale = 1, rowsMm = new Array<number>(20).fill(0) }: Made = {}): Silhouette {
  const at: [number, number, number][] = [];
  const lengthsMm: number[] = [];
  for (const { x, y, z, lengthMm = 40 } of blocks) {
    for (let j = y[0]; j <= y[1]; j += 4) {
      for (let k = z[0]; k <= z[1]; k += 4) {
        at.push([x, j, k]);
        lengthsMm.push(lengthMm);
      }
    }
  }
  const order = Int32Array.from({ length: at.length + 1 }, (_, i) => i);
  return {
    shape: {
      head: {
        scale,
        surface: { radiiMm: { x: 60, y: 60, z: 8 } },
        roots: { position: at.flatMap(() => [0, 0, 90]) },
      },
      lengthsMm: Float32Array.from(lengthsMm),
    },
    strands: {
      count: at.length,
      areaMm2: new Float64Array(at.length).fill(16),
      normal: Float32Array.from(at.flatMap(() => [1, 0, 0])),
    },
    thickness: { columns: 1, topMm: 56, rows: rowsMm.length, mm: Float32Array.from(rowsMm) },
    seen: {
      start: order,
      x: Float32Array.from(at, ([x]) => x),
      y: Float32Array.from(at, ([, y]) => y),
      z: Float32Array.from(at, ([, , z]) => z),
      mm: new Float32Array(at.length).fill(6),
      at: order.subarray(0, at.length),
    },
  } as unknown as Silhouette;
}

const options: SceneOptions = { id: 'k', figure: '<i id="figure"/>', ghost: '<i id="ghost"/>' };
const NEAR: Block = { x: 30, y: [-40, 40], z: [-20, 20] };
const far = (y: Span, z: Span = [-20, 20]): Block => ({ x: -30, y, z });
const plain = (silhouette: Silhouette, side: 'near' | 'far' = 'near') =>
  outlineFrom(silhouette, 'right')
    [side].map((loop) => smoothLoopPath(loop))
    .join('');
const count = (text: string, what: RegExp) => (text.match(what) ?? []).length;

describe('frameOf', () => {
  it.each([
    { view: 'right', scale: 1, frame: { wideMm: 274, topMm: 136, highMm: 320 } },
    { view: 'left', scale: 1, frame: { wideMm: 274, topMm: 136, highMm: 320 } },
    { view: 'back', scale: 1, frame: { wideMm: 250, topMm: 136, highMm: 320 } },
    { view: 'front', scale: 1, frame: { wideMm: 250, topMm: 136, highMm: 320 } },
    // 1.1 times 274 / 2, 136 and 184 are 150.7, 149.6 and 202.4.
    { view: 'left', scale: 1.1, frame: { wideMm: 302, topMm: 150, highMm: 352 } },
  ] as const)('of the $view at $scale', ({ view, scale, frame }) => {
    expect(frameOf(hair({ scale }), view)).toEqual(frame);
  });

  it('reaches 8 mm below the lowest row of hair', () => {
    // 45 rows from 56 down end at -214.
    expect(frameOf(hair({ rowsMm: new Array<number>(45).fill(0) }), 'back').highMm).toBe(136 + 214 + 8);
    // 40 rows end at -184 and 39 at -178, which leave 192 and 186 against 184.
    expect(frameOf(hair({ rowsMm: new Array<number>(39).fill(0) }), 'back').highMm).toBe(136 + 186);
    expect(frameOf(hair({ rowsMm: new Array<number>(38).fill(0) }), 'back').highMm).toBe(136 + 184);
  });
});

describe('sceneOf', () => {
  it('lays far hair, figure, hair, locks, ear, weight line and ghost in this order', () => {
    const silhouette = hair({ blocks: [NEAR, far([-60, 60])] });
    const weightLine = { zMm: 0, lowMm: -5, highMm: 5, share10: 0.5, kind: 'window', lineZMm: 0 } as const;
    const scene = sceneOf(silhouette, 'right', { ...options, weightLine });
    const near = plain(silhouette);
    const layers = [
      `<path id="k-n" d="${near}" fill-rule="evenodd" clip-rule="evenodd"/>`,
      '<clipPath id="k-h"><use href="#k-n"/></clipPath></defs>',
      `<path d="${plain(silhouette, 'far')}" fill="url(#k-r)" fill-rule="evenodd"/>`,
      options.figure,
      `<use href="#k-n" fill="${PAINT.hair}"/><use href="#k-n" fill="url(#k-w)"/>`,
      '" clip-path="url(#k-h)" fill="none" stroke="',
      `stroke="${PAINT.lock}" stroke-opacity=".38" stroke-width="0.9" stroke-linecap="round"/>`,
      uncoveredEar(silhouette, 'right', 'k'),
      weightMark(outlineFrom(silhouette, 'right'), 0),
      options.ghost,
    ];
    const places = layers.map((layer) => scene.indexOf(layer));
    expect(layers.every((layer) => layer !== '')).toBe(true);
    expect(places).not.toContain(-1);
    expect([...places].sort((a, b) => a - b)).toEqual(places);
    expect(scene.startsWith('<defs><linearGradient id="k-r"')).toBe(true);
    expect(scene.endsWith(options.ghost)).toBe(true);
  });

  it('of a bald head is the figure alone, with an empty path to refer to', () => {
    const scene = sceneOf(hair(), 'back', { id: 'k', figure: '<i/>', ghost: '' });
    expect(scene).toContain('<path id="k-n" d="M0 0" fill-rule');
    expect(scene).toMatch(
      /<\/defs><i\/><use href="#k-n" fill="[^"]+"\/><use href="#k-n" fill="url\(#k-w\)"\/>$/,
    );
  });

  it.each([
    { name: 'behind the near', y: [-40, 40], z: [-20, 20], shown: false },
    // The outline comes out from under the near one by 4 mm before it shows.
    { name: '4 mm before it', y: [-40, 44], z: [-20, 20], shown: false },
    { name: '8 mm before it', y: [-40, 48], z: [-20, 20], shown: true },
    { name: '8 mm behind it', y: [-48, 40], z: [-20, 20], shown: true },
    { name: '8 mm above it', y: [-40, 40], z: [-20, 28], shown: true },
    { name: '8 mm below it', y: [-40, 40], z: [-28, 20], shown: true },
  ] as const)('shows the far side in profile where it reaches out: $name', ({ y, z, shown }) => {
    const scene = sceneOf(hair({ blocks: [NEAR, far(y, z)] }), 'right', options);
    expect(count(scene, /fill="url\(#k-r\)"/g)).toBe(shown ? 1 : 0);
  });

  it.each(['back', 'front'] as const)('always shows the far side from the %s', (view) => {
    const both = [-30, 30].map((y): Block => ({ x: 30, y: [y - 8, y + 8], z: [-20, 20] }));
    expect(sceneOf(hair({ blocks: both }), view, options)).toContain('fill="url(#k-r)"');
  });

  it('lets the far side go out of sight between 112 and 142 mm under the middle of the mean head', () => {
    const fade = (y1: number, y2: number) =>
      `<linearGradient id="k-r" gradientUnits="userSpaceOnUse" x1="0" x2="0" y1="${y1}" y2="${y2}">` +
      `<stop offset="0" stop-color="${PAINT.far}"/><stop offset="1" stop-color="${PAINT.far}" stop-opacity="0"/></linearGradient>`;
    expect(sceneOf(hair(), 'back', options)).toContain(fade(112, 142));
    expect(sceneOf(hair({ scale: 1.1 }), 'back', options)).toContain(fade(123, 156));
  });

  it.each([
    { lengthMm: 20, fine: 0, coarse: 0 },
    { lengthMm: 16, fine: 0, coarse: 0 },
    { lengthMm: 12, fine: 1, coarse: 1 },
    { lengthMm: 7, fine: 2, coarse: 1 },
    { lengthMm: 3, fine: 3, coarse: 2 },
  ])('lets skin through hair under 16, 10 and 5 mm, in small drawings 16 and 5: $lengthMm', (one) => {
    const silhouette = hair({ blocks: [{ ...NEAR, lengthMm: one.lengthMm }] });
    const through = (coarse: boolean) =>
      /<filter id="k-b"><feGaussianBlur stdDeviation="3"\/><\/filter><g clip-path="url\(#k-h\)"><g filter="url\(#k-b\)" fill="[^"]+" fill-opacity="\.26" fill-rule="evenodd">((?:<path d="[^"]+"\/>)*)<\/g><\/g>/.exec(
        sceneOf(silhouette, 'right', { ...options, coarse }),
      )?.[1] ?? '';
    expect(count(through(false), /<path/g)).toBe(one.fine);
    expect(count(through(true), /<path/g)).toBe(one.coarse);
    // Its edge is soft, so it needs few points: whole millimetres, 11 mm apart, also in large drawings.
    expect(through(false)).not.toContain('.');
  });

  it('shades by how thick the hair lies: (thickness / 24)^1.4, at most 0.75, every third row and the last', () => {
    // Rows of 6 mm from 56 down: the third to the seventh have hair, their middles at 41 to 17.
    const rowsMm = [0, 0, 12, 24, 6, 6, 1, 0, 0];
    const stop = (offset: string, opacity: string) =>
      `<stop offset="${offset}" stop-color="${PAINT.deep}" stop-opacity="${opacity}"/>`;
    const shade = (stops: string) =>
      `<linearGradient id="k-w" gradientUnits="userSpaceOnUse" x1="0" x2="0" y1="-41" y2="-17">${stops}</linearGradient>`;
    // 0.5^1.4 = 0.379, 0.25^1.4 = 0.144, (1/24)^1.4 = 0.0117; the fourth lies 18 of 24 mm down.
    expect(sceneOf(hair({ rowsMm }), 'back', options)).toContain(
      shade(stop('0.00', '0.38') + stop('0.75', '0.14') + stop('1.00', '0.01')),
    );
    expect(sceneOf(hair({ rowsMm }), 'back', { ...options, coarse: true })).toContain(
      shade(stop('0.00', '0.38') + stop('1.00', '0.01')),
    );
    expect(sceneOf(hair({ rowsMm: [24] }), 'back', options)).toContain(stop('0.00', '0.75'));
  });

  it('draws small ones coarser: whole millimetres, 11 mm apart, wider and fewer locks', () => {
    const silhouette = hair({ blocks: [NEAR] });
    const scene = sceneOf(silhouette, 'right', { ...options, coarse: true });
    const [loop] = outlineFrom(silhouette, 'right').near;
    expect(scene).toContain(`id="k-n" d="${smoothLoopPath(resampleLoop(loop!, 11), 1)}"`);
    expect(scene).toContain('stroke-width="1.2"');
    const locks = (text: string) => count(/<path d="([^"]*)" clip-path/.exec(text)![1]!, /M/g);
    expect(locks(scene)).toBeLessThan(locks(sceneOf(silhouette, 'right', options)));
  });

  it('marks no weight line where there is none', () => {
    const window = { zMm: 0, lowMm: -5, highMm: 5, share10: 0.1 };
    const silhouette = hair({ blocks: [NEAR] });
    const without = sceneOf(silhouette, 'right', options);
    expect(without).not.toContain(PAINT.mark);
    expect(
      sceneOf(silhouette, 'right', { ...options, weightLine: { ...window, kind: 'none', lineZMm: null } }),
    ).toBe(without);
  });
});

describe('ghostLine', () => {
  it('is the near outline as a broken line', () => {
    const outline = outlineFrom(hair({ blocks: [NEAR, far([-60, 60])] }), 'right');
    const broken = (d: string) =>
      `<path d="${d}" fill="none" stroke="${PAINT.ghost}" stroke-width="1.1" stroke-dasharray="1 3.2" stroke-linecap="round"/>`;
    expect(ghostLine(outline)).toBe(broken(smoothLoopPath(outline.near[0]!)));
    expect(ghostLine(outline, true)).toBe(broken(smoothLoopPath(resampleLoop(outline.near[0]!, 11), 1)));
  });
});

const words = { id: 'd', title: 'A & B', description: '<C>' };
const NAMED =
  'role="img" aria-labelledby="d-t d-d"><title id="d-t">A &amp; B</title><desc id="d-d">&lt;C&gt;</desc>';
const STYLE = `<style>${SHAPE_CSS}</style>`;

describe('drawShape', () => {
  it.each([
    { view: 'right', box: '-137 -136 274 320' },
    { view: 'back', box: '-125 -136 250 320' },
  ] as const)('puts a frame around the scene: from the $view', ({ view, box }) => {
    const silhouette = hair({ blocks: [NEAR] });
    const scene = sceneOf(silhouette, view, {
      id: 'd',
      figure: figureGroup(silhouette, view, 'd'),
      ghost: '',
    });
    const wanted = (style: string) =>
      `<svg xmlns="http://www.w3.org/2000/svg" viewBox="${box}" ${NAMED}${style}<defs>${fades('d')}</defs>${scene}</svg>`;
    expect(drawShape(silhouette, view, words)).toBe(wanted(''));
    expect(drawShape(silhouette, view, { ...words, standalone: true })).toBe(wanted(STYLE));
  });

  it('draws the other date over it', () => {
    const silhouette = hair({ blocks: [NEAR] });
    const ghost = outlineFrom(hair({ blocks: [{ ...NEAR, y: [-48, 48] }] }), 'right');
    expect(drawShape(silhouette, 'right', { ...words, ghost })).toContain(`${ghostLine(ghost)}</svg>`);
  });
});

describe('drawStrip', () => {
  const first = { silhouette: hair({ blocks: [NEAR] }), label: 'Today' };
  // 45 rows end at -214: 136 + 222 mm high.
  const later = {
    silhouette: hair({
      blocks: [{ ...NEAR, z: [-40, 20] }],
      rowsMm: [...new Array<number>(44).fill(0), 2],
    }),
    label: '5 & 6',
  };

  it('puts scenes side by side, as high as the highest, with the label of each below', () => {
    const panel = (i: number, { silhouette, label }: typeof first, ghost: string) =>
      `<g transform="translate(${274 * i} 0)">` +
      sceneOf(silhouette, 'right', { id: `d${i}`, figure: '<use href="#d-f"/>', ghost, coarse: true }) +
      `<text y="242" text-anchor="middle" font-family="system-ui,sans-serif" font-size="20" fill="${PAINT.ink}">${label}</text></g>`;
    const wanted = (style: string) =>
      `<svg xmlns="http://www.w3.org/2000/svg" viewBox="-137 -136 548 392" ${NAMED}${style}<defs>${fades('d')}` +
      `<g id="d-f">${figureGroup(first.silhouette, 'right', 'd')}</g>` +
      `<g id="d-g">${ghostLine(outlineFrom(first.silhouette, 'right'), true)}</g></defs>` +
      `${panel(0, first, '')}${panel(1, { ...later, label: '5 &amp; 6' }, '<use href="#d-g"/>')}</svg>`;
    expect(drawStrip([first, later], 'right', words)).toBe(wanted(''));
    expect(drawStrip([first, later], 'right', { ...words, standalone: true })).toBe(wanted(STYLE));
  });

  it.each([0, 1, 5])('refuses %d dates', (dates) => {
    expect(() => drawStrip(new Array(dates).fill(first), 'right', words)).toThrow(
      expect.objectContaining({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'frames',
        message: 'A strip has two to 4 drawings.',
      }),
    );
  });

  it('takes four, and refuses an id that is none', () => {
    expect(count(drawStrip(new Array(4).fill(first), 'right', words), /<text/g)).toBe(4);
    expect(() => drawStrip([first, later], 'right', { ...words, id: '1' })).toThrow(
      expect.objectContaining({ field: 'id' }),
    );
  });
});

describe('the palette', () => {
  it('sets every paint for light, as it falls back to, and for dark', () => {
    for (const paint of Object.values(PAINT)) {
      const [, name, light] = /^var\((--shape-\w+),(#[0-9a-f]{6})\)$/.exec(paint)!;
      expect(count(SHAPE_CSS, new RegExp(`${name}:#[0-9a-f]{6}`, 'g'))).toBe(2);
      expect(SHAPE_CSS.split('@media')[0]).toContain(`${name}:${light}`);
    }
  });
});
