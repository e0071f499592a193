import { describe, expect, it } from '@jest/globals';
import geographiclib from 'geographiclib-geodesic';
import { ellipseArc } from './ellipse.js';

const { Geodesic } = geographiclib;
const QUARTER = Math.PI / 2;

describe('ellipseArc', () => {
  it.each([
    // [what, p, q, t1, published, tolerance]
    ['circle of radius 1, whole', 1, 1, 4 * QUARTER, 2 * Math.PI, 1e-12],
    ['E(m = 0.5), Abramowitz and Stegun table 17.1', 1, Math.SQRT1_2, QUARTER, 1.350643881, 5e-10],
    ['ellipse 2:1 perimeter 8 E(m = 0.75) (from memory)', 2, 1, 4 * QUARTER, 9.688448221, 5e-10],
    // WGS84: a 6378137, f 1/298.257223563; NIMA TR8350.2 quadrant (figure from memory)
    ['WGS84 quadrant', 6378137, 6356752.314245179, QUARTER, 10_001_965.729, 1e-3],
  ])('%s', (_what, p, q, t1, published, tolerance) => {
    expect(Math.abs(ellipseArc(p, q, 0, t1) - published)).toBeLessThan(tolerance);
  });

  it.each([
    ['sagittal', 95, 90],
    ['coronal', 75, 90],
    ['round the head', 95, 75],
  ])('agrees with GeographicLib along the meridian of the %s ellipse', (_name, equatorial, polar) => {
    const globe = new Geodesic.Geodesic(equatorial, (equatorial - polar) / equatorial);
    for (const [from, to] of [
      [0, 90],
      [-37, 12],
      [20, 85],
    ] as const) {
      const meridian = globe.Inverse(from, 0, to, 0).s12!;
      // Geodetic latitude to the ellipse's own parameter: tan(t) = (polar / equatorial) tan(latitude).
      const parameter = (latitude: number): number =>
        latitude === 90 ? QUARTER : Math.atan((polar / equatorial) * Math.tan((latitude * Math.PI) / 180));
      // (p sin t, q cos t) with p the polar axis counts t from the equator.
      const arc = ellipseArc(polar, equatorial, parameter(from), parameter(to));
      // Its series of sixth order is meant for planets: at a flattening of 1/5 it is good to some 1e-7.
      expect(Math.abs(arc - meridian)).toBeLessThan(1e-6);
    }
  });

  it('adds up and changes sign with its direction', () => {
    const whole = ellipseArc(75, 95, 0.2, 2.9);
    expect(ellipseArc(75, 95, 0.2, 1.1) + ellipseArc(75, 95, 1.1, 2.9)).toBeCloseTo(whole, 9);
    expect(ellipseArc(75, 95, 2.9, 0.2)).toBeCloseTo(-whole, 9);
    // Across t = 0 the curve is its own mirror image.
    expect(ellipseArc(50, 100, -1.5, 1.5)).toBeCloseTo(2 * ellipseArc(50, 100, 0, 1.5), 6);
  });
});
