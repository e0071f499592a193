import { describe, expect, it } from '@jest/globals';
import type { Silhouette } from '../outline.js';
import type { View } from '../view.js';
import { earEdge } from './ear.js';
import { BACK_FIGURE, FRONT_FIGURE, PROFILE_FIGURE } from './figure.js';
import { fades, figureGroup, uncoveredEar } from './figure-svg.js';
import { PAINT } from './palette.js';

interface Strand {
  readonly rootZ: number;
  readonly at: readonly (readonly [number, number, number])[];
}

function hair(strands: readonly Strand[], scale = 1): Silhouette {
  const start = [0];
  for (const { at } of strands) start.push(start[start.length - 1]! + at.length);
  const places = strands.flatMap(({ at }) => at);
  return {
    shape: { head: { scale, roots: { position: strands.flatMap(({ rootZ }) => [70, -14, rootZ]) } } },
    strands: { count: strands.length },
    seen: {
      start: Int32Array.from(start),
      x: Float32Array.from(places, ([x]) => x),
      y: Float32Array.from(places, ([, y]) => y),
      z: Float32Array.from(places, ([, , z]) => z),
    },
  } as unknown as Silhouette;
}
const one = (at: Strand['at'][number], rootZ = 0) => hair([{ rootZ, at: [at] }]);

/** The ear is asked for every 4 mm from 34 behind its canal to 10 before it. */
const U = [-34, -30, -26, -22, -18, -14, -10, -6, -2, 2, 6, 10];
const pairs = (z: readonly number[], u = U) => u.flatMap((mm, i) => [mm, z[i]!]);
const FREE = U.map(() => -10);
/** A hair that ends at -40 over the sixth place: 3 mm lower, half a step, in its own, then 1-2-1 with its neighbours. */
const ONE_HAIR = FREE.map((z, i) =>
  i === 5 ? (-10 - 86 - 10) / 4 : i === 4 || i === 6 ? (-30 - 43) / 4 : z,
);

describe('earEdge by hand', () => {
  it('is the top of the ear where no hair falls over it, from left to right on both sides', () => {
    expect(earEdge(hair([]), 'right')).toEqual(pairs(FREE));
    expect(earEdge(hair([]), 'left')).toEqual(
      pairs(
        FREE,
        [...U].reverse().map((u) => -u),
      ),
    );
  });

  it('is pushed down by a hair over it', () => {
    expect(earEdge(one([70, -14, -40]), 'right')).toEqual(pairs(ONE_HAIR));
    expect(earEdge(one([-70, -14, -40]), 'left')).toEqual(
      pairs(
        [...ONE_HAIR].reverse(),
        [...U].reverse().map((u) => -u),
      ),
    );
  });

  it('takes the lowest of several', () => {
    const strand: Strand = {
      rootZ: 0,
      at: [
        [70, -14, -20],
        [70, -14, -40],
        [70, -14, -30],
      ],
    };
    expect(earEdge(hair([{ rootZ: 5, at: [[70, -15, -25]] }, strand]), 'right')).toEqual(pairs(ONE_HAIR));
  });

  it.each([
    { name: 'above the ear', silhouette: one([70, -14, -9.9]) },
    { name: 'on the other side', silhouette: one([-1, -14, -40]) },
    { name: 'whose root is behind the ear', silhouette: one([70, -14, -40], -17) },
    { name: 'behind it', silhouette: one([70, -37, -40]) },
    { name: 'before it', silhouette: one([70, 12.1, -40]) },
  ])('is left alone by hair $name', ({ silhouette }) => {
    expect(earEdge(silhouette, 'right')).toEqual(pairs(FREE));
  });

  it.each([
    { name: 'at the top of the ear', silhouette: one([70, -14, -10]), place: 5, z: (-10 - 26 - 10) / 4 },
    { name: 'in the middle plane', silhouette: one([0, -14, -40]), place: 5, z: -26.5 },
    { name: 'from -16 on', silhouette: one([70, -14, -40], -16), place: 5, z: -26.5 },
    // At an end its own place counts for the neighbour that is not there: (3 · -43 - 10) / 4.
    { name: 'at the back end', silhouette: one([70, -35, -40]), place: 0, z: -34.75 },
    { name: 'at the front end', silhouette: one([70, 11.9, -40]), place: 11, z: -34.75 },
  ])('is pushed down by hair $name', ({ silhouette, place, z }) => {
    expect(earEdge(silhouette, 'right')![2 * place + 1]).toBe(z);
  });

  it('is none where hair covers the whole ear, down to the lobe at -72', () => {
    const curtain = (z: number) => hair(U.map((y) => ({ rootZ: 0, at: [[70, y, z] as const] })));
    expect(earEdge(curtain(-69), 'right')).toEqual(pairs(U.map(() => -72)));
    expect(earEdge(curtain(-69.5), 'right')).toBeNull();
  });

  it('shows what is left free beside hair that hides the rest', () => {
    const half = hair(U.slice(0, 6).map((y) => ({ rootZ: 0, at: [[70, y, -90] as const] })));
    const edge = earEdge(half, 'right')!;
    expect([edge[1], edge[23]]).toEqual([-93, -10]);
  });

  it('scales with the head', () => {
    const scaled = earEdge(hair([{ rootZ: -31, at: [[70, -28, -80]] }], 2), 'right')!;
    // Twice the size: places every 8 mm from -68, the top at -20; half a step stays 3 mm.
    expect(scaled.filter((_, i) => i % 2 === 0)).toEqual(U.map((u) => 2 * u));
    expect(scaled[1]).toBe(-20);
    expect(scaled[2 * 5 + 1]).toBe((-20 - 166 - 20) / 4);
    expect(earEdge(hair([{ rootZ: -33, at: [[70, -28, -80]] }], 2), 'right')![11]).toBe(-20);
    const covered = (z: number) =>
      earEdge(
        hair(
          U.map((y) => ({ rootZ: 0, at: [[70, 2 * y, z] as const] })),
          2,
        ),
        'right',
      );
    expect(covered(-141)).not.toBeNull();
    expect(covered(-141.5)).toBeNull();
  });
});

describe('the figure', () => {
  const earsOf = ({ ears }: typeof PROFILE_FIGURE) =>
    ears
      .map(({ outline, inner }) => `<path d="${outline}"/><path d="${inner}" fill="none" stroke-width=".9"/>`)
      .join('');
  const headOf = ({ skin, lines }: typeof PROFILE_FIGURE) =>
    `${skin.map((d) => `<path d="${d}"/>`).join('')}<path d="${lines.join('')}" fill="none"/>`;
  const group = (transform: string, inside: string) =>
    `<g${transform} stroke-linecap="round" stroke-linejoin="round" fill="url(#k-s)" ` +
    `stroke="url(#k-l)" stroke-width="1.1">${inside}</g>`;

  it.each([
    { view: 'right', transform: '', inside: headOf(PROFILE_FIGURE) + earsOf(PROFILE_FIGURE) },
    {
      view: 'left',
      transform: ' transform="scale(-1 1)"',
      inside: headOf(PROFILE_FIGURE) + earsOf(PROFILE_FIGURE),
    },
    { view: 'back', transform: '', inside: earsOf(BACK_FIGURE) + headOf(BACK_FIGURE) },
    { view: 'front', transform: '', inside: earsOf(FRONT_FIGURE) + headOf(FRONT_FIGURE) },
  ] as const)('from the $view: an ear on the head in profile, ears behind it otherwise', (one) => {
    expect(figureGroup(hair([]), one.view, 'k')).toBe(group(one.transform, one.inside));
  });

  it.each([
    { view: 'right', scale: 1.1, transform: ' transform="scale(1.1 1.1)"' },
    { view: 'left', scale: 0.95, transform: ' transform="scale(-0.95 0.95)"' },
    { view: 'back', scale: 577 / 560, transform: ' transform="scale(1.0304 1.0304)"' },
  ] as const)('is scaled to the head: $scale from the $view', ({ view, scale, transform }) => {
    expect(figureGroup(hair([], scale), view, 'k')).toContain(`<g${transform} stroke`);
  });

  it('runs out downwards between 138 and 180 mm under the middle', () => {
    const fade = (name: string, paint: string) =>
      `<linearGradient id="k-${name}" gradientUnits="userSpaceOnUse" x1="0" y1="138" x2="0" y2="180">` +
      `<stop offset="0" stop-color="${paint}"/><stop offset="1" stop-color="${paint}" stop-opacity="0"/></linearGradient>`;
    expect(fades('k')).toBe(fade('s', PAINT.skin) + fade('l', PAINT.line));
  });

  it('shows of an ear what lies below the edge of the hair, 20 mm beyond it and 120 down', () => {
    const along = U.map((u) => `L${u} 10`).join('');
    expect(uncoveredEar(hair([]), 'right', 'k')).toBe(
      `<clipPath id="k-e"><path d="M-54 120${along}L30 120Z"/></clipPath><g clip-path="url(#k-e)"><g ` +
        `fill="${PAINT.skin}" stroke="${PAINT.line}" stroke-width="1.1">${earsOf(PROFILE_FIGURE)}</g></g>`,
    );
    expect(uncoveredEar(hair([], 1.5), 'left', 'k')).toContain('d="M-35 180L-15 15');
    expect(uncoveredEar(hair([], 1.5), 'left', 'k')).toContain('<g transform="scale(-1.5 1.5)" fill');
  });

  it.each<View>(['back', 'front'])(
    'shows none over the hair from the %s, nor where all is covered',
    (view) => {
      expect(uncoveredEar(hair([]), view, 'k')).toBe('');
      const curtain = hair(U.map((y) => ({ rootZ: 0, at: [[70, y, -90] as const] })));
      expect(uncoveredEar(curtain, 'right', 'k')).toBe('');
    },
  );
});
