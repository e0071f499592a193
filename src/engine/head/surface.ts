/** A point or direction as three numbers x (right), y (forward), z (up); mm for points. Used as an out-parameter. */
export type Vec3 = Float64Array;

/** The outside of a head. All lengths in mm, origin at the cranium's centre, x right, y forward, z up. */
export interface Surface {
  /** Semi-axes of the cranium in mm. */
  readonly radiiMm: { readonly x: number; readonly y: number; readonly z: number };
  /** First-order signed distance to the surface in mm: positive outside, negative inside. Exact on a sphere. */
  clearanceMm(x: number, y: number, z: number): number;
  /** True strictly inside the head. */
  contains(x: number, y: number, z: number): boolean;
  /**
   * Writes a surface point near (x, y, z): along the ray from the centre on the cranium, horizontally
   * towards the axis where the neck begins. It is not the nearest point, but the same point at any scale.
   */
  project(x: number, y: number, z: number, out: Vec3): void;
  /** Writes the outward unit normal at a surface point. */
  normal(x: number, y: number, z: number, out: Vec3): void;
  /** Distance in mm from the vertical axis to the surface at height z in the direction az (radians, 0 = front). */
  radiusAt(azRadians: number, z: number): number;
}

/** Vertical elliptic cylinder below `topZ`; its top must lie inside the cranium, so that the two join without a step. */
export interface Neck {
  readonly rx: number;
  readonly ry: number;
  readonly centreY: number;
  readonly topZ: number;
}

/** Cranium ellipsoid with semi-axes a, b, c (mm) united with an optional neck. */
export class CraniumSurface implements Surface {
  readonly radiiMm: { readonly x: number; readonly y: number; readonly z: number };

  constructor(
    private readonly a: number,
    private readonly b: number,
    private readonly c: number,
    private readonly neck?: Neck,
  ) {
    this.radiiMm = { x: a, y: b, z: c };
  }

  clearanceMm(x: number, y: number, z: number): number {
    const cranium = this.craniumClearance(x, y, z);
    const neck = this.neckClearance(x, y, z);
    return Math.min(neck, cranium);
  }

  contains(x: number, y: number, z: number): boolean {
    return this.clearanceMm(x, y, z) < 0;
  }

  project(x: number, y: number, z: number, out: Vec3): void {
    const px = x / this.a;
    const py = y / this.b;
    const pz = z / this.c;
    const k = Math.sqrt(px * px + py * py + pz * pz);
    const topZ = this.neck?.topZ ?? Number.NEGATIVE_INFINITY;
    const height = z < topZ ? z : k < 1e-12 ? this.c : z / k;
    if (height < topZ) {
      const az = Math.atan2(x, y);
      const r = this.radiusAt(az, height);
      out[0] = r * Math.sin(az);
      out[1] = r * Math.cos(az);
    } else {
      out[0] = k < 1e-12 ? 0 : x / k;
      out[1] = k < 1e-12 ? 0 : y / k;
    }
    out[2] = height;
  }

  normal(x: number, y: number, z: number, out: Vec3): void {
    const neck = this.neck;
    let nx: number;
    let ny: number;
    let nz: number;
    if (neck !== undefined && this.neckClearance(x, y, z) < this.craniumClearance(x, y, z)) {
      nx = x / (neck.rx * neck.rx);
      ny = (y - neck.centreY) / (neck.ry * neck.ry);
      nz = 0;
    } else {
      nx = x / (this.a * this.a);
      ny = y / (this.b * this.b);
      nz = z / (this.c * this.c);
    }
    const m = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (m === 0) {
      nz = 1;
    }
    const k = m === 0 ? 1 : 1 / m;
    out[0] = nx * k;
    out[1] = ny * k;
    out[2] = nz * k;
  }

  radiusAt(azRadians: number, z: number): number {
    const sx = Math.sin(azRadians);
    const sy = Math.cos(azRadians);
    const k = 1 - (z * z) / (this.c * this.c);
    const cranium =
      k <= 0 ? 0 : Math.sqrt(k / ((sx * sx) / (this.a * this.a) + (sy * sy) / (this.b * this.b)));
    const neck = this.neck;
    if (neck === undefined || z >= neck.topZ) return cranium;
    // r solves ((r sx) / rx)^2 + ((r sy - centreY) / ry)^2 = 1
    const qa = (sx * sx) / (neck.rx * neck.rx) + (sy * sy) / (neck.ry * neck.ry);
    const qb = (-sy * neck.centreY) / (neck.ry * neck.ry);
    const qc = (neck.centreY * neck.centreY) / (neck.ry * neck.ry) - 1;
    const own = (-qb + Math.sqrt(qb * qb - qa * qc)) / qa;
    return Math.max(own, cranium);
  }

  private craniumClearance(x: number, y: number, z: number): number {
    const px = x / this.a;
    const py = y / this.b;
    const pz = z / this.c;
    const k0 = Math.sqrt(px * px + py * py + pz * pz);
    if (k0 < 1e-9) return -Math.min(this.a, this.b, this.c);
    const gx = px / this.a;
    const gy = py / this.b;
    const gz = pz / this.c;
    return (k0 * (k0 - 1)) / Math.sqrt(gx * gx + gy * gy + gz * gz);
  }

  private neckClearance(x: number, y: number, z: number): number {
    const neck = this.neck;
    if (neck === undefined || z >= neck.topZ) return Number.POSITIVE_INFINITY;
    const px = x / neck.rx;
    const py = (y - neck.centreY) / neck.ry;
    const k0 = Math.sqrt(px * px + py * py);
    if (k0 < 1e-9) return -Math.min(neck.rx, neck.ry);
    const gx = px / neck.rx;
    const gy = py / neck.ry;
    return (k0 * (k0 - 1)) / Math.sqrt(gx * gx + gy * gy);
  }
}

/** A ball of radius `radiusMm` without a neck: the closed forms of the cut are exact on it. */
export function sphereSurface(radiusMm: number): Surface {
  return new CraniumSurface(radiusMm, radiusMm, radiusMm);
}
