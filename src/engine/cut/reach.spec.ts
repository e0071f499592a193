import { describe, expect, it } from '@jest/globals';
import { buildHead, ellipseArc, type Head, sphereSurface } from '../head/index.js';
import { ZONES, type Zone } from '../zones.js';
import { type Neighbours, neighboursOf } from './neighbours.js';
import { type Runs, runsOf } from './reach.js';

type Place = readonly [x: number, y: number, z: number];

const DEGREE = Math.PI / 180;
const [BACK, NAPE, CROWN] = (['back', 'nape', 'crown'] as const).map((zone) => ZONES.indexOf(zone)) as [
  number,
  number,
  number,
];
const base = buildHead({ rootCount: 200 });
const R = 120;
/** A place on the ball, `az` degrees round from the front and `up` degrees above its equator. */
const onBall = (az: number, up: number, r = R): Place => [
  r * Math.cos(up * DEGREE) * Math.sin(az * DEGREE),
  r * Math.cos(up * DEGREE) * Math.cos(az * DEGREE),
  r * Math.sin(up * DEGREE),
];
const withRoots = (head: Head, places: readonly (readonly [Zone, Place])[]): Head => ({
  ...head,
  roots: {
    count: places.length,
    position: Float64Array.from(places.flatMap(([, place]) => place)),
    normal: new Float64Array(3 * places.length),
    areaMm2: new Float64Array(places.length).fill(16),
    zone: Uint8Array.from(places.map(([zone]) => ZONES.indexOf(zone))),
  },
});
/** A ball combed away from its top, so that every strand lies along a meridian; zones by height. */
const ball = (
  zoneIndexAt: Head['zoneIndexAt'],
  places: readonly (readonly [Zone, Place])[],
  more = {},
): Head =>
  withRoots(
    {
      ...base,
      surface: sphereSurface(R),
      comb: { whorl: { x: 0, y: 0, z: R }, partingXMm: undefined, scale: 1 },
      zoneIndexAt,
      ...more,
    },
    places,
  );
const backOverNape: Head['zoneIndexAt'] = (_x, _y, z) => (z < -30 ? NAPE : BACK);
/** Angle of a height on the ball above its equator. */
const rise = (z: number): number => Math.asin(z / R);
const look = (head: Head, sign: 1 | -1, more: Partial<Neighbours> = {}): Runs =>
  runsOf(head, { ...neighboursOf(head), ...more }, sign);
const sum = (of: Iterable<number>): number => [...of].reduce((all, part) => all + part, 0);
const near = (found: number | undefined, wanted: number, tolerance: number): void => {
  expect(Math.abs(found! - wanted)).toBeLessThan(tolerance);
};
// A border is found to 1/128 of a step of 3 mm; chords of 3 mm are too short by 3^3 / 24 R^2 = 0.0001 each.
const BORDER = 3 / 128 + 0.01;

// Gauss-Legendre with four nodes on (0, 1), to five digits: 0.06943, 0.33001 and their mirror images; weights 0.17393
// and 0.32607 (Abramowitz and Stegun 25.4.30).
const NODES = [0.06943, 0.33001, 0.66999, 0.93057];
const WEIGHTS = [0.17393, 0.32607, 0.32607, 0.17393];

describe('the way down a ball, from 10 degrees up through a border at z = -30 to the guide line', () => {
  // Straight behind, 150 degrees round (the guide line lies at -85 - 12 * 15 / 20 = -94), and a root of the nape.
  const places = [
    ['back', onBall(180, 10)],
    ['back', onBall(-150, 10)],
    ['nape', onBall(150, -20)],
  ] as const;
  const make = (): Runs => look(ball(backOverNape, places), 1);

  it('has one run in each zone, as long as the arc', () => {
    const { start, zone, arcMm } = make();
    expect([...start]).toEqual([0, 2, 4, 5]);
    expect([...zone]).toEqual([BACK, NAPE, BACK, NAPE, NAPE]);
    [
      rise(-30) - 10 * DEGREE,
      rise(-100) - rise(-30),
      rise(-30) - 10 * DEGREE,
      rise(-94) - rise(-30),
      rise(-94) + 20 * DEGREE,
    ].forEach((angle, run) => {
      near(arcMm[run], R * Math.abs(angle), BORDER);
    });
    // No border is lost or counted twice: the whole way is that to the guide line.
    near(arcMm[0]! + arcMm[1]!, R * (10 * DEGREE - rise(-100)), BORDER);
  });

  it('is straight above the equator and dips as far as it leads under it', () => {
    const { straightMm, dips, dipped, exitDip } = make();
    // The piece across the equator is halved until it is shorter than 0.1 mm.
    near(straightMm[0], R * 10 * DEGREE, 0.1);
    expect(straightMm[1]).toBe(0);
    expect(straightMm[4]).toBe(0);
    expect([...dipped]).toEqual([1, 1, 1, 1, 1]);
    near(exitDip[0], -rise(-30), 1e-3);
    near(exitDip[1], -rise(-100), 1e-3);
    // On a ball the dip grows evenly along the way.
    for (const [run, from, to] of [
      [0, 0, -rise(-30)],
      [1, -rise(-30), -rise(-100)],
      [4, 20 * DEGREE, -rise(-94)],
    ] as const) {
      for (let k = 0; k < 4; k++) {
        near(dips[8 * run + k], from + NODES[k]! * (to - from), 1e-3);
        near(dips[8 * run + 4 + k], WEIGHTS[k]! * R * (to - from), 0.05);
      }
    }
  });

  it('counts the fringe, the first of the zones, as any other', () => {
    const FRINGE = ZONES.indexOf('fringe');
    const places = [
      ['back', onBall(180, 10)],
      ['fringe', onBall(180, -20)],
    ] as const;
    const { start, zone, arcMm, nearest } = look(
      ball((_x, _y, z) => (z < -30 ? FRINGE : BACK), places),
      1,
    );
    expect([...start]).toEqual([0, 2, 3]);
    expect([...zone]).toEqual([BACK, FRINGE, FRINGE]);
    near(arcMm[1], R * (rise(-30) - rise(-100)), BORDER);
    near(arcMm[2], R * (-20 * DEGREE - rise(-100)), BORDER);
    expect([...nearest]).toEqual([1, 1, 1, -1, -1, -1, -1, -1, -1]);
  });

  it('has the dip of the middle of its pieces where it is shorter than they are', () => {
    // 2 mm above the border, in one piece; 10 mm above it, in four: the outermost nodes lie outside of the middles.
    const up = (mm: number): Place => onBall(180, rise(-30) / DEGREE + mm / R / DEGREE);
    const { dips } = look(
      ball(backOverNape, [
        ['back', up(2)],
        ['back', up(10)],
      ]),
      1,
    );
    for (let k = 0; k < 4; k++) {
      near(dips[k], -rise(-30) - 1 / R, 3e-4);
      near(dips[4 + k], 2 * WEIGHTS[k]!, 0.02);
    }
    // The nape's run lies between; then pieces of 3, 3, 3 and 1 mm, the first node before the middle of the first.
    [1.5, 10 * NODES[1]!, 10 * NODES[2]!, 10 * NODES[3]!].forEach((down, k) => {
      near(dips[16 + k], -rise(-30) - (10 - down) / R, 3e-4);
    });
  });

  it('has the dip at each node, also where it does not grow evenly', () => {
    // A made-up skin whose normal dips by the square of the latitude.
    const surface = sphereSurface(R);
    const level = surface.normal.bind(surface);
    const bent = Object.assign(surface, {
      normal: (x: number, y: number, z: number, out: Float64Array) => {
        if (z >= 0) {
          level(x, y, z, out);
          return;
        }
        const dip = Math.asin(-z / R) ** 2;
        const flat = Math.hypot(x, y);
        out.set([(Math.cos(dip) * x) / flat, (Math.cos(dip) * y) / flat, -Math.sin(dip)]);
      },
    });
    const { dips } = look(
      ball(() => BACK, [['back', onBall(180, -5)]], { surface: bent }),
      1,
    );
    const [from, to] = [5 * DEGREE, -rise(-100)];
    for (let k = 0; k < 4; k++) near(dips[k], (from + NODES[k]! * (to - from)) ** 2, 2e-3);
  });

  it('tells where it leaves each zone', () => {
    const { exitSideMm } = make();
    near(exitSideMm[0], 0, 1e-6);
    near(exitSideMm[2], R * 30 * DEGREE, 0.01);
    near(exitSideMm[3], R * 30 * DEGREE, 0.01);
  });

  it('tells the closest roots of the next zone, and how much further along they stand', () => {
    // Two roots of the nape behind, 5 and 12 degrees on down the meridian of the first; one aside at the same height.
    const border = rise(-30) / DEGREE;
    const more = [
      ['nape', onBall(180, border - 5)],
      ['nape', onBall(180, border - 12)],
      ['nape', onBall(160, border)],
    ] as const;
    const head = ball(backOverNape, [...places, ...more]);
    const asked: [number, number][] = [];
    const { nearest, share, onwardMm } = look(head, 1, {
      closest: (end, zone) => {
        asked.push([zone, end[2]!]);
        return { roots: [3, 4, 5], share: [0.5, 0.3, 0.2] };
      },
    });
    expect([...nearest.subarray(0, 6)]).toEqual([3, 4, 5, -1, -1, -1]);
    expect([...share.subarray(0, 6)]).toEqual([0.5, 0.3, 0.2, 0, 0, 0]);
    // Along the tangent a root t degrees on stands R sin t away. The one aside stands 20 degrees round from there at the
    // border's height: seen along the tangent (0, sin, -cos) of the meridian that is -R sin(rise) cos(rise) (1 - cos 20).
    const aside = R * Math.sin(rise(-30)) * Math.cos(rise(-30)) * (1 - Math.cos(20 * DEGREE));
    near(onwardMm[0], 0.5 * R * Math.sin(5 * DEGREE) + 0.3 * R * Math.sin(12 * DEGREE) - 0.2 * aside, 0.03);
    expect(onwardMm[1]).toBe(0);
    expect(asked[0]![0]).toBe(NAPE);
    near(asked[0]![1], -30, 0.03);
  });
});

describe('the way up a ball', () => {
  const napeToCrown: Head['zoneIndexAt'] = (_x, _y, z) => (z < 20 ? BACK : CROWN);

  it('leads through the zones to where strands part', () => {
    const runs = look(
      ball(napeToCrown, [
        ['back', onBall(180, -20)],
        ['crown', onBall(100, 12)],
        ['crown', onBall(100, 40)],
      ]),
      -1,
      { closest: () => ({ roots: [1, 2, 1], share: [0.25, 0.75, 0] }) },
    );
    expect([...runs.start]).toEqual([0, 2, 3, 4]);
    expect([...runs.zone]).toEqual([BACK, CROWN, CROWN, CROWN]);
    near(runs.arcMm[0], R * (rise(20) + 20 * DEGREE), BORDER);
    near(runs.arcMm[1], R * (90 * DEGREE - rise(20)), BORDER);
    near(runs.arcMm[3], R * 50 * DEGREE, BORDER);
    near(runs.straightMm[0], R * rise(20), 0.1 + BORDER);
    expect(runs.straightMm[1]).toBe(runs.arcMm[1]);
    expect([...runs.dipped]).toEqual([1, 0, 0, 0]);
    expect([...runs.exitDip]).toEqual([0, 0, 0, 0]);
    // The dip of a way upwards begins where the root stands.
    near(runs.dips[0], (1 - NODES[0]!) * 20 * DEGREE, 1e-3);
    near(runs.dips[3], (1 - NODES[3]!) * 20 * DEGREE, 2e-3);
    near(sum(runs.dips.subarray(4, 8)), R * 20 * DEGREE, 0.1);
    expect([...runs.dips.subarray(8, 16)]).toEqual([0, 0, 0, 0, 0, 0, 0, 0]);
    // Upwards along the meridian behind leads (0, sin, cos) of the border's rise; a quarter of the way to the one root,
    // three quarters of that to the other.
    const end = onBall(180, rise(20) / DEGREE);
    const up = ([, y, z]: Place): number =>
      (y - end[1]) * Math.sin(rise(20)) + (z - end[2]) * Math.cos(rise(20));
    near(runs.onwardMm[0], 0.25 * up(onBall(100, 12)) + 0.75 * up(onBall(100, 40)), 0.05);
    expect([...runs.nearest.subarray(3)]).toEqual([-1, -1, -1, -1, -1, -1, -1, -1, -1]);
  });
});

describe('a way up', () => {
  it.each([20, 60])('ends at a parting at x = %d mm, however far off that is', (parting) => {
    // On top, from y = 0 to 30, hair lies straight to the sides of the parting: the way leads back to it.
    const comb = { whorl: { x: 0, y: -60, z: 100 }, partingXMm: parting, scale: 1 };
    const from = [0.4, 1, 2.6, 4.4, 5.9, 7.3, 15, 18, -0.5, -3, -4.7, -24].map((off) => parting + off);
    // Straight sideways on a ball leads along the great circles through its outermost point.
    const places = from.map((x) => ['fringe', [x, 12, Math.sqrt(R * R - 12 * 12 - x * x)]] as const);
    const { arcMm, start } = look(
      ball(() => ZONES.indexOf('fringe'), places, { comb }),
      -1,
    );
    expect(start).toHaveLength(from.length + 1);
    from.forEach((x, i) => {
      near(arcMm[i], R * Math.abs(Math.asin(x / R) - Math.asin(parting / R)), BORDER);
    });
  });
});

describe('a way that would not end', () => {
  it('ends after 400 steps', () => {
    // A ball of 90 never comes down to the guide line behind; its strands end up at the lowest point.
    const small = { surface: sphereSurface(90) };
    const head = ball(() => BACK, [['back', onBall(180, 10, 90)]], small);
    const { start, arcMm, nearest } = look(head, 1);
    expect([...start]).toEqual([0, 1]);
    near(arcMm[0], 1200, 5);
    expect([...nearest]).toEqual([-1, -1, -1]);
  });

  it('goes straight downhill after 140 combed ones', () => {
    // Combed away from a whorl 20 degrees behind the top, from 20 degrees at the right of it: a great circle, and after
    // 140 steps of 0.3 mm, 42 mm, the meridian it has come to, for the other 260.
    const scale = 0.1;
    const whorl = onBall(180, 70);
    const from = onBall(90, 70);
    const head = ball(() => BACK, [['back', from]], {
      comb: { whorl: { x: whorl[0], y: whorl[1], z: whorl[2] }, partingXMm: undefined, scale },
    });
    const gone = (140 * 0.3) / R;
    const apart = Math.acos(Math.sin(70 * DEGREE) ** 2);
    const at = [0, 1, 2].map(
      (k) => (Math.sin(apart + gone) * from[k]! - Math.sin(gone) * whorl[k]!) / Math.sin(apart),
    );
    const { exitSideMm, arcMm } = look(head, 1);
    near(arcMm[0], 400 * 0.3, 0.01);
    near(exitSideMm[0], R * (Math.PI - Math.atan2(at[0]!, at[1]!)), 0.05);
  });
});

describe('the way down the back of the head', () => {
  const midline = (z: number): Place => [0, -95 * Math.sqrt(1 - (z / 90) ** 2), z];
  /** Where the back of the neck, 58 behind the axis, comes out of the skull. */
  const neckZ = -90 * Math.sqrt(1 - (58 / 95) ** 2);
  const tilt = (z: number): number => Math.asin(z / 90);

  it('dips from the equator to the neck, and is straight above and below', () => {
    const head = withRoots(base, [['back', midline(20)]]);
    const { zone, straightMm, arcMm, dips, exitDip } = look(head, 1);
    expect([...zone]).toEqual([BACK, NAPE]);
    near(arcMm[0], ellipseArc(90, 95, tilt(-40), tilt(20)), BORDER);
    near(straightMm[0], ellipseArc(90, 95, 0, tilt(20)), 0.1);
    const skull = ellipseArc(90, 95, tilt(neckZ), tilt(-40));
    // One step cuts the corner of 126 degrees between skull and neck: at most 3 - 3 sin 63 = 0.33 mm.
    near(arcMm[1], skull + neckZ + 100, 0.35);
    near(straightMm[1], neckZ + 100, 0.35);
    near(sum(dips.subarray(12, 16)), skull, 0.35);
    expect(exitDip[1]).toBe(0);
    near(exitDip[0], Math.atan2(40 / 90 ** 2, (95 * Math.sqrt(1 - (40 / 90) ** 2)) / 95 ** 2), 2e-3);
  });

  it('has dips whose sum over any function is its integral along the way', () => {
    const head = withRoots(base, [['back', midline(-5)]]);
    const { dips } = look(head, 1);
    for (const k of [1, 0.5]) {
      // Along the ellipse (90 sin t, 95 cos t) in steps of 0.001: the dip is the angle of its normal.
      let integral = 0;
      for (let t = tilt(-40) + 0.0005; t < tilt(-5); t += 0.001) {
        const dip = Math.atan2((-90 * Math.sin(t)) / 90 ** 2, (95 * Math.cos(t)) / 95 ** 2);
        integral += Math.cos(1 + k * dip) * 0.001 * Math.hypot(90 * Math.cos(t), 95 * Math.sin(t));
      }
      const ours = [0, 1, 2, 3].map((i) => dips[4 + i]! * Math.cos(1 + k * dips[i]!));
      near(sum(ours), integral, 0.05);
    }
  });

  it('is as much longer on a larger head', () => {
    const runs = (k: number): Runs => {
      const head = buildHead({ rootCount: 200, circumferenceMm: 560 * k });
      const [x, y, z] = midline(20);
      return look(withRoots(head, [['back', [k * x, k * y, k * z]]]), 1);
    };
    const [mean, large] = [runs(1), runs(1.2)];
    large.arcMm.forEach((mm, run) => {
      near(mm, 1.2 * mean.arcMm[run]!, 0.05);
    });
    large.straightMm.forEach((mm, run) => {
      near(mm, 1.2 * mean.straightMm[run]!, 0.2);
    });
  });

  it('of a root under the guide line ends at once', () => {
    // Hair over the ear begins above the line, which is carried straight across: none does so but on a made-up head.
    const head = withRoots(base, [['nape', [0, -58, -104]]]);
    const { start, arcMm } = look(head, 1);
    expect([...start]).toEqual([0, 1]);
    expect(arcMm[0]).toBeLessThan(0.05);
  });
});
