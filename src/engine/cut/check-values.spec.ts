import { describe, expect, it } from '@jest/globals';
import geographiclib from 'geographiclib-geodesic';
import { sampleRankCorrelation } from 'simple-statistics';
import {
  buildHead,
  ellipseArc,
  type Head,
  type Landmarks,
  sphereSurface,
  stepAlongFall,
} from '../head/index.js';
import { buildFallTable } from '../shape/fall.js';
import { ZONES, type Zone } from '../zones.js';
import { type CutFormula, type CutStep, cutHead, tautString } from './index.js';

const { Geodesic } = geographiclib;
const DEGREE = Math.PI / 180;
const ALL = [...ZONES];
const head = buildHead({ rootCount: 1200 });
const fall = buildFallTable(head);
const position = head.roots.position;

/** Made in the first check that asks for it. */
const once = <T>(make: () => T): (() => T) => {
  let made: T | undefined;
  return () => (made ??= make());
};
const travelling = (
  zones: readonly Zone[],
  lengthMm: number,
  elevationDegrees: number,
  more = {},
): CutStep => ({
  kind: 'travelling',
  zones,
  guide: { kind: 'length', lengthMm },
  section: 'horizontal',
  elevationDegrees,
  ...more,
});
const rest = (zones: readonly Zone[]): CutStep => ({
  kind: 'even',
  zones: ALL.filter((zone) => !zones.includes(zone)),
  lengthMm: 300,
});
const apart: CutFormula['connections'] = ZONES.flatMap((a, i) =>
  ZONES.slice(i + 1).map((b) => ({ between: [a, b] as const, join: 'disconnected' as const })),
);

/** A head whose only roots of zone `zone` are the given surface points; the other zones keep theirs. */
function withRoots(base: Head, zone: Zone, points: readonly (readonly [number, number, number])[]): Head {
  const keep = [...base.roots.zone.keys()].filter((i) => ZONES[base.roots.zone[i]!] !== zone);
  const xyz = [...points.flat(), ...keep.flatMap((i) => [...base.roots.position.subarray(3 * i, 3 * i + 3)])];
  const normal = new Float64Array(xyz.length);
  for (let i = 0; i < xyz.length; i += 3) {
    base.surface.normal(xyz[i]!, xyz[i + 1]!, xyz[i + 2]!, normal.subarray(i, i + 3));
  }
  return {
    ...base,
    roots: {
      count: xyz.length / 3,
      position: Float64Array.from(xyz),
      normal,
      areaMm2: new Float64Array(xyz.length / 3).fill(15),
      zone: Uint8Array.from([
        ...points.map(() => ZONES.indexOf(zone)),
        ...keep.map((i) => base.roots.zone[i]!),
      ]),
    },
  };
}

describe('stationary guide as a taut string', () => {
  // Closed form on a ball: chord sqrt(R^2 + D^2 - 2 R D cos t) up to the tangent at acos(R / D) = 61.73 degrees,
  // then sqrt(D^2 - R^2) and the arc. The figures are the design's, tolerance 0.05.
  it.each([
    [15, 105.666],
    [30, 120.756],
    [45, 141.481],
    [60, 164.621],
    [90, 211.744],
    [110, 243.16],
  ])('ball of 90, point 100 above the apex, root at %d degrees: %d', (degrees, published) => {
    const t = degrees * DEGREE;
    const length = tautString(90, 90, 90, 90 * Math.sin(t), 0, 90 * Math.cos(t), 0, 0, 190);
    const leave = Math.acos(90 / 190);
    const closed =
      t <= leave
        ? Math.sqrt(90 ** 2 + 190 ** 2 - 2 * 90 * 190 * Math.cos(t))
        : Math.sqrt(190 ** 2 - 90 ** 2) + 90 * (t - leave);
    expect(Math.abs(length - closed)).toBeLessThan(1e-9);
    expect(Math.abs(length - published)).toBeLessThan(0.05);
  });

  it('on an ellipsoid is the geodesic of GeographicLib or at most 0.5 % more', () => {
    // Both ends on the skin of a head of revolution, so the string is all arc. The series of GeographicLib is itself
    // good to about 1e-6 of the length at this flattening.
    const globe = new Geodesic.Geodesic(85, (85 - 95) / 85);
    const at = (latitude: number, longitude: number): readonly [number, number, number] => {
      const t = Math.atan((95 / 85) * Math.tan(latitude * DEGREE));
      return [
        85 * Math.cos(t) * Math.cos(longitude * DEGREE),
        85 * Math.cos(t) * Math.sin(longitude * DEGREE),
        95 * Math.sin(t),
      ];
    };
    for (const [lat0, lat1, apart] of [
      [80, 10, 40],
      [60, -20, 100],
      [30, 30, 120],
      [70, -35, 10],
    ] as const) {
      const truth = globe.Inverse(lat0, 0, lat1, apart).s12!;
      const ours = tautString(85, 85, 95, ...at(lat1, apart), ...at(lat0, 0));
      expect(ours / truth).toBeGreaterThan(1 - 1e-5);
      expect(ours / truth).toBeLessThan(1.005);
    }
  });

  const cut = once(() =>
    cutHead(head, fall, {
      steps: [{ kind: 'stationary', zones: ALL, anchor: 'apex', lengthMm: 100, shape: 'point' }],
      connections: apart,
    }),
  );

  // Prototype figures of the design; tolerance 1 mm.
  it.each([
    ['top', 120],
    ['left-side', 184],
    ['right-side', 184],
    ['back', 204],
    ['nape', 279],
  ] as const)('100 above the apex: mean length of the %s %d', (zone, published) => {
    const { meanMm } = cut().zones.find((lengths) => lengths.zone === zone)!;
    expect(Math.abs(meanMm - published)).toBeLessThan(1);
  });

  it('leaves hair the longer the further it grows from the guide (rank correlation over 0.99)', () => {
    const { lengthMm } = cut();
    const distance = [...lengthMm.keys()].map((i) =>
      Math.hypot(position[3 * i]!, position[3 * i + 1]!, position[3 * i + 2]! - 190),
    );
    expect(sampleRankCorrelation(distance, [...lengthMm])).toBeGreaterThan(0.99);
  });
});

describe('square top', () => {
  // Extra over a round layering of 100 where the normal stands 45 / 35 / 25 degrees: z of the coronal ellipse is
  // c^2 sin / sqrt(a^2 cos^2 + c^2 sin^2), extra 90 - z. Design's figures, tolerance 0.1.
  it.each([
    [45, 20.9],
    [35, 32.1],
    [25, 46.1],
  ])('keeps a corner over the ridge: normal at %d degrees, %d longer than round', (degrees, published) => {
    const cos = Math.cos(degrees * DEGREE);
    const sin = Math.sin(degrees * DEGREE);
    const k = Math.hypot(75 * cos, 90 * sin);
    const special = withRoots(head, 'top', [[(75 * 75 * cos) / k, 0, (90 * 90 * sin) / k]]);
    const fallLines = buildFallTable(special);
    const square: CutStep = {
      kind: 'stationary',
      zones: ['top'],
      anchor: 'apex',
      lengthMm: 100,
      held: 'up',
      shape: 'plane',
    };
    const squareCut = cutHead(special, fallLines, { steps: [square, rest(['top'])], connections: apart });
    const roundCut = cutHead(special, fallLines, {
      steps: [travelling(['top'], 100, 90), rest(['top'])],
      connections: apart,
    });
    expect(Math.abs(squareCut.lengthMm[0]! - roundCut.lengthMm[0]! - published)).toBeLessThan(0.1);
    expect(squareCut.lengthMm[0]! - 100).toBeCloseTo(90 - (90 * 90 * sin) / k, 4);
  });
});

describe('held up to a level', () => {
  const level = once(() =>
    cutHead(head, fall, {
      steps: [{ kind: 'held-up', zones: ALL, anchor: 'apex', lengthMm: 60 }],
      connections: apart,
    }),
  );

  it('leaves L = H - z at every root', () => {
    for (let i = 0; i < head.roots.count; i++) {
      expect(level().lengthMm[i]).toBeCloseTo(150 - position[3 * i + 2]!, 3);
    }
  });

  it('is not the same as an elevation of 180 degrees, which follows the curve of the head', () => {
    const curve = cutHead(head, fall, {
      steps: [travelling(['back', 'nape'], 250, 180), rest(['back', 'nape'])],
      connections: apart,
    });
    // Both grow downwards, but along the skin an arc is longer than its height.
    const more = [...head.roots.zone.keys()]
      .filter((i) => ZONES[head.roots.zone[i]!] === 'back')
      .map((i) => curve.lengthMm[i]! - level().lengthMm[i]!);
    expect(Math.max(...more) - Math.min(...more)).toBeGreaterThan(10);
  });
});

describe('finger angle', () => {
  const tilted = (fingerAngleDegrees: number): Float32Array =>
    cutHead(head, fall, {
      steps: [travelling(ALL, 50, 90, { fingerAngleDegrees })],
      connections: apart,
    }).lengthMm;

  it('of +-10 degrees on a 50 mm guide at 90 degrees ends at 82.6 and 17.4', () => {
    // The design's arc is 184.9 (in steps of 3 mm); the midline from z = -40 to the apex is 186.9 by elliptic arcs.
    const arc = ellipseArc(90, 95, Math.asin(-40 / 90), Math.PI / 2);
    expect(Math.abs(50 + arc * Math.tan(10 * DEGREE) - 82.6)).toBeLessThan(0.5);
    expect(Math.abs(50 - arc * Math.tan(10 * DEGREE) - 17.4)).toBeLessThan(0.5);
  });

  it('adds and takes tan(phi) for every mm from the guide, the same either way', () => {
    const longer = tilted(10);
    const shorter = tilted(-10);
    for (let i = 0; i < head.roots.count; i++) {
      expect(longer[i]! + shorter[i]!).toBeCloseTo(100, 3);
      expect(longer[i]).toBeGreaterThanOrEqual(50);
    }
  });
});

describe('graduated back, nape 20 at z = -100', () => {
  /** Independent: the elevation formula summed in 0.01 mm of height along the midline of the back. */
  function bruteForce(elevation: number, toZ: number): number {
    let length = 20;
    const dz = 0.01;
    for (let z = -100 + dz / 2; z < toZ; z += dz) {
      const cranium = z > -90 ? 95 * Math.sqrt(1 - (z / 90) ** 2) : 0;
      // On the neck (y = -58) the skin is upright, on the skull it dips by the angle of the ellipse's normal.
      const dip = cranium < 58 ? 0 : Math.atan2(-z / 8100, cranium / 9025);
      const held = elevation * DEGREE + Math.max(0, dip) * (1 - elevation / 90);
      length += (Math.cos(held) * dz) / Math.cos(Math.max(0, dip));
    }
    return length;
  }

  const heights = [-15, -30, -39];
  const special = withRoots(
    head,
    'back',
    heights.map((z) => [0.001, -95 * Math.sqrt(1 - (z / 90) ** 2), z] as const),
  );
  const lines = buildFallTable(special);

  // Prototype figures of the design at z = -15; tolerance 0.4 mm there and 1 mm for weight line z - L.
  it.each([
    [45, 73.1, -88.1],
    [60, 56.8, -71.8],
    [75, 38.8, -53.8],
    [85, 26.3, -41.3],
  ])('at %d degrees: %d long at z = -15, weight line %d', (elevation, published, weightLine) => {
    expect(Math.abs(bruteForce(elevation, -15) - published)).toBeLessThan(0.4);
    expect(Math.abs(-15 - bruteForce(elevation, -15) - weightLine)).toBeLessThan(1);
    const inOne = cutHead(special, lines, {
      steps: [travelling(['nape', 'back'], 20, elevation), rest(['nape', 'back'])],
      connections: apart,
    });
    heights.forEach((z, i) => {
      expect(Math.abs(inOne.lengthMm[i]! - bruteForce(elevation, z))).toBeLessThan(0.3);
    });
    const inTwo = cutHead(special, lines, {
      steps: [
        travelling(['nape'], 20, elevation),
        travelling(['back'], 0, elevation, { guide: { kind: 'zone', zone: 'nape' } }),
        rest(['nape', 'back']),
      ],
      connections: apart,
    });
    // The nape's last row as a guide: true to the nearest root.
    heights.forEach((z, i) => {
      expect(Math.abs(inTwo.lengthMm[i]! - bruteForce(elevation, z))).toBeLessThan(0.8);
    });
  });

  it('at 0 degrees is one length: all tips at the height of the guide', () => {
    // dL = dz exactly, below the equator too.
    expect(bruteForce(0, -15)).toBeCloseTo(20 + 85, 2);
    const cut = cutHead(head, fall, {
      steps: [travelling(['nape', 'back'], 20, 0), rest(['nape', 'back'])],
      connections: apart,
    });
    for (let i = 0; i < head.roots.count; i++) {
      const az = Math.abs(Math.atan2(position[3 * i]!, position[3 * i + 1]!)) / DEGREE;
      const z = position[3 * i + 2]!;
      if (z > 0 || az < 165) continue;
      const line = -97 - ((az - 155) * 3) / 25 - 20;
      expect(Math.abs(z - cut.lengthMm[i]! - line)).toBeLessThan(1.2);
    }
  });
});

describe('travelling guide on a ball (closed form)', () => {
  const R = 90;
  const ball: Head = (() => {
    const surface = sphereSurface(R);
    const degrees = [8, 0, -10, -25];
    const points = degrees.map((d) => [0.001, -R * Math.cos(d * DEGREE), R * Math.sin(d * DEGREE)] as const);
    const based = {
      ...head,
      surface,
      zoneIndexAt: (_x: number, _y: number, z: number) =>
        z < -63.64 ? ZONES.indexOf('nape') : ZONES.indexOf('back'),
    };
    return withRoots(based, 'back', points);
  })();
  const lines = buildFallTable(ball);

  // From -45 degrees (z = -63.64, the zone's edge) upwards: above the equator cos e per mm, below it the integral of
  // cos(e + dip (1 - e / 90)) R d(dip) = R [sin(e + dip k)] / k, k = 1 - e / 90. Tolerance 0.15.
  it.each([0, 30, 45, 60, 85, 90, 120, 180])('at %d degrees', (elevation) => {
    const e = elevation * DEGREE;
    const k = Math.max(0, 1 - elevation / 90);
    const below = (from: number, to: number): number =>
      k === 0 ? R * (from - to) * Math.cos(e) : (R * (Math.sin(e + from * k) - Math.sin(e + to * k))) / k;
    const cut = cutHead(ball, lines, {
      steps: [travelling(['back'], 200, elevation), rest(['back'])],
      connections: apart,
    });
    [8, 0, -10, -25].forEach((d, i) => {
      const up = Math.max(0, d) * DEGREE * R * Math.cos(e);
      const closed = 200 + up + below(45 * DEGREE, Math.max(0, -d) * DEGREE);
      expect(Math.abs(cut.lengthMm[i]! - closed)).toBeLessThan(0.15);
    });
  });
});

describe('path independence', () => {
  it('differs over the back of the head by at most 2.2 cos e mm (design), on a ball by nothing', () => {
    // Along a level nothing is gained, so two ways differ by cos e times the fall-line arcs between the same levels.
    const arc = (surface: Head['surface'], az: number, from: number, to: number): number => {
      const r = surface.radiusAt(az * DEGREE, from);
      const at = Float64Array.of(r * Math.sin(az * DEGREE), r * Math.cos(az * DEGREE), from);
      let mm = 0;
      for (;;) {
        const [x, y, z] = [at[0]!, at[1]!, at[2]!];
        stepAlongFall(surface, head.comb, at, 0.5, false);
        const step = Math.hypot(at[0]! - x, at[1]! - y, at[2]! - z);
        if (at[2]! < to) return mm + (step * (z - to)) / (z - at[2]!);
        mm += step;
      }
    };
    const arcs = (surface: Head['surface']): number[] =>
      [105, 120, 135, 150, 165, 180].map((az) => arc(surface, az, 57, 0));
    const spread = (mm: readonly number[]): number => Math.max(...mm) - Math.min(...mm);
    expect(spread(arcs(head.surface))).toBeLessThan(2.2);
    expect(spread(arcs(head.surface))).toBeGreaterThan(1);
    expect(spread(arcs(sphereSurface(90)))).toBeLessThan(1e-6);
  });
});

describe('step per section', () => {
  it('of one finger on sections a finger deep adds 1 mm a mm of the way up, whatever the finger', () => {
    const grown = (sectionDepthMm: number): Float32Array =>
      cutHead(head, fall, {
        steps: [travelling(ALL, 40, 90, { stepPerSectionMm: sectionDepthMm, sectionDepthMm })],
        connections: apart,
      }).lengthMm;
    const women = grown(17);
    const men = grown(20);
    const angle = cutHead(head, fall, {
      steps: [travelling(ALL, 40, 90, { fingerAngleDegrees: 45 })],
      connections: apart,
    }).lengthMm;
    for (let i = 0; i < head.roots.count; i += 7) {
      expect(women[i]).toBeCloseTo(men[i]!, 3);
      // tan 45 = 1: the same profile by the finger angle
      expect(women[i]).toBeCloseTo(angle[i]!, 3);
    }
  });
});

it('every landmark serves as an anchor', () => {
  for (const anchor of Object.keys(head.landmarks) as (keyof Landmarks)[]) {
    const cut = cutHead(head, fall, {
      steps: [{ kind: 'stationary', zones: ALL, anchor, lengthMm: 150, shape: 'point' }],
    });
    expect(cut.lengthMm.every((mm) => mm >= 0 && mm < 800)).toBe(true);
  }
});
