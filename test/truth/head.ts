import geographiclib from 'geographiclib-geodesic';
import { buildHead, ellipseArc } from '../../src/engine/head/index.js';
import type { TruthRow } from './row.js';

const { Geodesic } = geographiclib;
const QUARTER = Math.PI / 2;
const ANSUR = 'ANSUR II 2012, women (Gordon et al. 2014, NATICK/TR-15/007), computed from the public data';

/** Meridian arcs of an ellipse of the head against the same on a globe of its shape. */
function meridians(): TruthRow[] {
  const rows = [
    ['sagittal', 95, 90],
    ['coronal', 75, 90],
    ['round the head', 95, 75],
  ] as const;
  return rows.map(([name, equatorial, polar]) => {
    const globe = new Geodesic.Geodesic(equatorial, (equatorial - polar) / equatorial);
    const parameter = (degrees: number) =>
      Math.atan((polar / equatorial) * Math.tan((degrees * Math.PI) / 180));
    return {
      what: `arc of the ${name} ellipse, 20° to 85°, mm`,
      source: 'GeographicLib (geographiclib-geodesic), good to 1e-6 at this flattening',
      theirs: globe.Inverse(20, 0, 85, 0).s12 ?? Number.NaN,
      ours: ellipseArc(polar, equatorial, parameter(20), parameter(85)),
      tolerance: 1e-6,
    };
  });
}

export function headTruths(): TruthRow[] {
  const { surface, landmarks } = buildHead();
  const { x, y } = surface.radiiMm;
  const tilt = (z: number) => Math.asin(z / 90);
  return [
    {
      what: 'E(m = 0.5)',
      source: 'Abramowitz, Stegun 1964, table 17.1',
      theirs: 1.350643881,
      ours: ellipseArc(1, Math.SQRT1_2, 0, QUARTER),
      tolerance: 5e-10,
    },
    {
      what: 'perimeter of the ellipse 2, 1',
      source: '8 E(m = 0.75)',
      fromMemory: true,
      theirs: 9.688448221,
      ours: ellipseArc(2, 1, 0, 4 * QUARTER),
      tolerance: 5e-10,
    },
    {
      what: 'meridian quadrant of WGS84, m',
      source: 'NIMA TR8350.2',
      fromMemory: true,
      theirs: 10_001_965.729,
      ours: ellipseArc(6378137, 6356752.314245179, 0, QUARTER),
      tolerance: 1e-3,
    },
    ...meridians(),
    // The tolerance of each is the published standard deviation between persons.
    { what: 'length of the mean head, mm', source: ANSUR, theirs: 189.8, ours: 2 * y, tolerance: 7.4 },
    { what: 'breadth of the mean head, mm', source: ANSUR, theirs: 147.8, ours: 2 * x, tolerance: 5.2 },
    {
      what: 'tragion to top, mm',
      source: ANSUR,
      theirs: 126.5,
      ours: landmarks.apex.z - landmarks.tragionLeft.z,
      tolerance: 6.5,
    },
    {
      what: 'front hairline to brow along the skin, mm',
      source:
        'trichion to glabella about 55 to 61, J Kor Assoc Plast maxillofacial study, population unchecked',
      theirs: 58,
      ours: ellipseArc(90, 95, tilt(-7), tilt(49.7)),
      tolerance: 3,
    },
  ];
}
