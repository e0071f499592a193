// Eight-point Gauss-Legendre on (-1, 1), Abramowitz and Stegun 1964, table 25.4.
const NODES = [0.1834346424956498, 0.525532409916329, 0.7966664774136267, 0.9602898564975363];
const WEIGHTS = [0.362683783378362, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763];

/**
 * Length in mm of a string pulled tight from a root (rx, ry, rz) to a point (px, py, pz) outside the cranium with
 * semi-axes a, b, c: the chord where it clears the head, else the tangents and the arc between them, in the plane
 * through both and the cranium's centre. Stretched to a ball of radius 1 the plane meets it in a great circle, on
 * which the tangent points are known: acos(1 / distance) from either end. Exact on a sphere; on a head at most
 * about 0.5 % longer than the true shortest way, which need not stay in one plane.
 */
export function tautString(
  a: number,
  b: number,
  c: number,
  rx: number,
  ry: number,
  rz: number,
  px: number,
  py: number,
  pz: number,
): number {
  const chord = Math.sqrt((px - rx) ** 2 + (py - ry) ** 2 + (pz - rz) ** 2);
  let ux = px / a;
  let uy = py / b;
  let uz = pz / c;
  let wx = rx / a;
  let wy = ry / b;
  let wz = rz / c;
  const far = Math.sqrt(ux * ux + uy * uy + uz * uz);
  const near = Math.sqrt(wx * wx + wy * wy + wz * wz);
  ux /= far;
  uy /= far;
  uz /= far;
  wx /= near;
  wy /= near;
  wz /= near;
  // The way from u square to it, towards w: as long as the sine of the angle between them. An arc cosine would keep
  // but half the digits where the root lies straight behind the head.
  const cos = ux * wx + uy * wy + uz * wz;
  let vx = wx - cos * ux;
  let vy = wy - cos * uy;
  let vz = wz - cos * uz;
  const sin = Math.sqrt(vx * vx + vy * vy + vz * vz);
  const angle = Math.atan2(sin, cos);
  const leave = far > 1 ? Math.acos(1 / far) : 0;
  const land = angle - (near > 1 ? Math.acos(1 / near) : 0);
  if (land <= leave + 1e-12) return chord;
  if (sin > 1e-9) {
    vx /= sin;
    vy /= sin;
    vz /= sin;
  } else {
    // Straight through the centre: any plane will do; take one that is not degenerate.
    const k = Math.abs(ux) < 0.9 ? 1 : 0;
    const j = 1 - k;
    const d = k * ux + j * uy;
    const m = Math.sqrt(1 - d * d);
    vx = (k - d * ux) / m;
    vy = (j - d * uy) / m;
    vz = (-d * uz) / m;
  }
  const distanceTo = (t: number, x: number, y: number, z: number): number => {
    const s = Math.sin(t);
    const k = Math.cos(t);
    return Math.sqrt(
      (a * (k * ux + s * vx) - x) ** 2 + (b * (k * uy + s * vy) - y) ** 2 + (c * (k * uz + s * vz) - z) ** 2,
    );
  };
  const half = (land - leave) / 2;
  const middle = (land + leave) / 2;
  let arc = 0;
  for (let i = 0; i < 8; i++) {
    const t = middle + (i < 4 ? half : -half) * NODES[i & 3]!;
    const s = Math.sin(t);
    const k = Math.cos(t);
    arc +=
      WEIGHTS[i & 3]! *
      Math.sqrt((a * (k * vx - s * ux)) ** 2 + (b * (k * vy - s * uy)) ** 2 + (c * (k * vz - s * uz)) ** 2);
  }
  return distanceTo(leave, px, py, pz) + arc * half + (near > 1 ? distanceTo(land, rx, ry, rz) : 0);
}
