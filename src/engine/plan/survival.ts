import { EngineError } from '../errors.js';
import { gaussHermite, normalCdf, normalDensity } from '../stats/index.js';
import { ZONES } from '../zones.js';
import { HEAD_NUMBERS, MARGIN_NUMBERS } from './window-row.js';

const { max, min, sqrt } = Math;

/** What does not fail within two years is not a question of hold. */
export const HORIZON_DAYS = 730;

const MAX_LIMITS = 30;
/** The person factor in standard deviations, with the weights of an expectation over it. */
const { nodes: PERSON_NODES, weights: PERSON_WEIGHTS } = gaussHermite(9);

/** Linear table of the normal distribution, absolute error below 2e-6: a window takes some thousand values. */
const TABLE_STEP = 128;
const TABLE_EDGE = 8;
const TABLE = Float64Array.from({ length: 2 * TABLE_EDGE * TABLE_STEP + 2 }, (_, i) =>
  normalCdf(i / TABLE_STEP - TABLE_EDGE),
);

/** Density over distribution: how far the mean of a standard normal moves when only values above -x are kept. */
const LIFTS = TABLE.map((p, i) => normalDensity(i / TABLE_STEP - TABLE_EDGE) / p);

function lookUp(table: Float64Array, x: number): number {
  const place = (min(TABLE_EDGE, max(-TABLE_EDGE, x)) + TABLE_EDGE) * TABLE_STEP;
  const index = place | 0;
  const low = table[index]!;
  return low + (place - index) * (table[index + 1]! - low);
}

const floats = (length: number) => new Float64Array(length);

/**
 * Survival of a shape: the probability that all its margins are still above 0 on a day.
 *
 *   S(t) = E over p of P(every margin > 0 at t | p)
 *
 * with p the person factor, by Gauss-Hermite with 9 nodes (41 move no day by more than one).
 *
 * Given p, margins that share no zone are independent and multiply. Those that share one are taken in turn, the most
 * endangered first, each conditioned on the earlier ones through the moments of the truncated normal distribution
 * (Mendell, Elston 1974, Biometrics 30:41-57).
 *
 * Against a million drawn persons the days agree to one, but for one case: a contrast so tight that it may be broken on
 * the day of the cut makes the curve flat there, and its 10 % point can be off by several days.
 *
 * One instance is a workspace to use again and again: `load` a client, then ask.
 */
export class ShapeSurvival {
  private count = 0;
  private readonly isLinked = new Uint8Array(MAX_LIMITS);
  /** Limits that share a zone with another one. */
  private readonly linkedLimits: number[] = [];
  private readonly zoneMean = floats(ZONES.length);
  private readonly zoneLoad = floats(ZONES.length);
  private readonly zoneRestVariance = floats(ZONES.length);
  private readonly leftVariance = floats(ZONES.length);
  private readonly source = new Uint8Array(MAX_LIMITS);
  private readonly z1 = new Int8Array(MAX_LIMITS);
  private readonly o1 = floats(MAX_LIMITS);
  private readonly a1 = floats(MAX_LIMITS);
  private readonly b1 = floats(MAX_LIMITS);
  private readonly z2 = new Int8Array(MAX_LIMITS);
  private readonly o2 = floats(MAX_LIMITS);
  private readonly a2 = floats(MAX_LIMITS);
  private readonly b2 = floats(MAX_LIMITS);
  private readonly noiseSd = floats(MAX_LIMITS);
  // Polynomials in the days: mean of a margin, its part per person factor, variance given it; covariance of a pair.
  private readonly mean0 = floats(MAX_LIMITS);
  private readonly mean1 = floats(MAX_LIMITS);
  private readonly load0 = floats(MAX_LIMITS);
  private readonly load1 = floats(MAX_LIMITS);
  private readonly variance0 = floats(MAX_LIMITS);
  private readonly variance1 = floats(MAX_LIMITS);
  private readonly variance2 = floats(MAX_LIMITS);
  private readonly pair0 = floats(MAX_LIMITS * MAX_LIMITS);
  private readonly pair1 = floats(MAX_LIMITS * MAX_LIMITS);
  private readonly pair2 = floats(MAX_LIMITS * MAX_LIMITS);
  private readonly centre = floats(MAX_LIMITS);
  private readonly slope = floats(MAX_LIMITS);
  private readonly h = floats(MAX_LIMITS);
  private readonly correlation = floats(MAX_LIMITS * MAX_LIMITS);
  private readonly scratch = floats(MAX_LIMITS * MAX_LIMITS);
  private readonly spread = floats(MAX_LIMITS);

  /** Takes in the row of one client (see window-row.ts) that lies in `rows` from `start` to `end`; `only` one limit. */
  load(rows: Float64Array, start: number, end: number, only = -1): void {
    this.count = 0;
    this.linkedLimits.length = 0;
    this.isLinked.fill(0);
    for (let z = 0; z < ZONES.length; z += 1) {
      this.zoneMean[z] = rows[start + z]!;
      this.zoneLoad[z] = rows[start + ZONES.length + z]!;
      this.zoneRestVariance[z] = rows[start + 2 * ZONES.length + z]! ** 2;
      this.leftVariance[z] = rows[start + 3 * ZONES.length + z]! ** 2;
    }
    let limit = 0;
    for (let at = start + HEAD_NUMBERS; at < end; at += MARGIN_NUMBERS) {
      if (only < 0 || only === limit) this.add(rows, at, limit);
      limit += 1;
    }
  }

  /** 1 - S(t): the probability that at least one limit is passed `days` after the cut. */
  failed(days: number): number {
    this.prepare(days);
    return 1 - this.hold();
  }

  /**
   * Adds to `losses`, by place in the row, the probability that each limit is passed first between `days` and
   * `days + step`: what survival loses when that one limit alone goes on by so much, with the others where they are in
   * the middle of it (the midpoint rule). For small steps.
   */
  addLosses(losses: number[], days: number, step: number): void {
    const middle = days + step / 2;
    this.prepare(middle);
    for (let k = 0; k < this.count; k += 1) {
      this.standardise(k, days);
      const before = this.hold();
      this.standardise(k, days + step);
      const place = this.source[k]!;
      losses[place] = (losses[place] ?? 0) + max(0, before - this.hold());
      this.standardise(k, middle);
    }
  }

  private hold(): number {
    if (this.count === 1) return lookUp(TABLE, this.marginal(0));
    let survival = 0;
    for (let i = 0; i < PERSON_NODES.length; i += 1) {
      survival += PERSON_WEIGHTS[i]! * this.holdGivenPerson(PERSON_NODES[i]!);
    }
    return survival;
  }

  /** The limit (its place in the row) most likely to have been passed on a day. */
  likeliestFailed(days: number): number {
    this.prepare(days);
    let worst = 0;
    for (let k = 1; k < this.count; k += 1) {
      if (this.marginal(k) < this.marginal(worst)) worst = k;
    }
    return this.source[worst]!;
  }

  /** The day by which the first limit would be passed if every zone grew at its mean rate; where to look first. */
  meanFailureDay(): number {
    let day = HORIZON_DAYS;
    for (let k = 0; k < this.count; k += 1) {
      if (this.mean1[k]! > 0) day = min(day, this.mean0[k]! / this.mean1[k]!);
    }
    return day;
  }

  /** Standard deviations that a margin lies above 0: it is Gaussian with the person factor integrated out. */
  private marginal(k: number): number {
    return this.centre[k]! / sqrt(1 + this.slope[k]! * this.slope[k]!);
  }

  /** Probability that all limits hold on the day last prepared, for a person `x` standard deviations off the mean. */
  private holdGivenPerson(x: number): number {
    let hold = 1;
    for (let k = 0; k < this.count; k += 1) {
      this.h[k] = this.centre[k]! + this.slope[k]! * x;
      if (!this.isLinked[k]) hold *= lookUp(TABLE, this.h[k]!);
    }
    return this.linkedLimits.length > 0 && hold > 0 ? hold * this.jointHold() : hold;
  }

  /** Centre and slope of every standardised margin h = margin / sd in the person factor, and their correlations. */
  private prepare(days: number): void {
    const { h, linkedLimits, correlation, pair0, pair1, pair2 } = this;
    for (let k = 0; k < this.count; k += 1) h[k] = this.standardise(k, days);
    for (let i = 1; i < linkedLimits.length; i += 1) {
      for (let j = 0; j < i; j += 1) {
        const one = min(linkedLimits[i]!, linkedLimits[j]!);
        const two = max(linkedLimits[i]!, linkedLimits[j]!);
        const at = one * MAX_LIMITS + two;
        const r = (pair0[at]! + days * (pair1[at]! + days * pair2[at]!)) / (h[one]! * h[two]!);
        correlation[i * MAX_LIMITS + j] = max(-1, min(1, r));
        correlation[j * MAX_LIMITS + i] = correlation[i * MAX_LIMITS + j]!;
      }
    }
  }

  private standardise(k: number, days: number): number {
    const variance = this.variance0[k]! + days * (this.variance1[k]! + days * this.variance2[k]!);
    const sd = sqrt(max(1e-18, variance));
    this.centre[k] = (this.mean0[k]! - days * this.mean1[k]!) / sd;
    this.slope[k] = (this.load0[k]! - days * this.load1[k]!) / sd;
    return sd;
  }

  private jointHold(): number {
    const { h, linkedLimits, correlation, scratch } = this;
    const m = linkedLimits.length;
    for (let j = 0; j < m; j += 1) {
      for (let k = 0; k < m; k += 1) scratch[j * MAX_LIMITS + k] = correlation[j * MAX_LIMITS + k]!;
    }
    let hold = 1;
    let taken = 0;
    for (let step = 0; step < m && hold > 1e-9; step += 1) {
      let j = -1;
      for (let k = 0; k < m; k += 1) {
        if ((taken & (1 << k)) === 0 && (j < 0 || h[linkedLimits[k]!]! < h[linkedLimits[j]!]!)) j = k;
      }
      taken |= 1 << j;
      hold *= lookUp(TABLE, h[linkedLimits[j]!]!);
      if (step < m - 1) this.condition(j, taken);
    }
    return hold;
  }

  /** Moves centre, spread and correlations of the margins not yet taken to what they are when margin j holds. */
  private condition(j: number, taken: number): void {
    const { h, linkedLimits, scratch, spread } = this;
    const m = linkedLimits.length;
    const hj = h[linkedLimits[j]!]!;
    const lift = lookUp(LIFTS, hj);
    const shrink = lift * (lift + hj);
    for (let k = 0; k < m; k += 1) {
      if ((taken & (1 << k)) !== 0) continue;
      const r = scratch[j * MAX_LIMITS + k]!;
      const limit = linkedLimits[k]!;
      spread[k] = sqrt(max(1e-12, 1 - r * r * shrink));
      h[limit] = (h[limit]! + r * lift) / spread[k]!;
      for (let l = 0; l < k; l += 1) {
        if ((taken & (1 << l)) !== 0) continue;
        const both = scratch[k * MAX_LIMITS + l]! - r * scratch[j * MAX_LIMITS + l]! * shrink;
        scratch[k * MAX_LIMITS + l] = both / (spread[k]! * spread[l]!);
        scratch[l * MAX_LIMITS + k] = scratch[k * MAX_LIMITS + l]!;
      }
    }
  }

  private add(rows: Float64Array, at: number, limit: number): void {
    const k = this.count;
    if (k === MAX_LIMITS) {
      throw new EngineError(
        'ENGINE.OUT_OF_RANGE',
        'limits',
        `A shape can have at most ${MAX_LIMITS} hold limits.`,
      );
    }
    const { z1, o1, a1, b1, z2, o2, a2, b2, noiseSd } = this;
    this.mean0[k] = rows[at]!;
    z1[k] = rows[at + 1]!;
    o1[k] = rows[at + 2]!;
    a1[k] = rows[at + 3]!;
    b1[k] = rows[at + 4]!;
    z2[k] = rows[at + 5]!;
    o2[k] = rows[at + 6]!;
    a2[k] = rows[at + 7]!;
    b2[k] = rows[at + 8]!;
    noiseSd[k] = rows[at + 9]!;
    this.source[k] = limit;
    this.mean1[k] = 0;
    this.load0[k] = 0;
    this.load1[k] = 0;
    this.variance0[k] = noiseSd[k]! ** 2;
    this.variance1[k] = 0;
    this.variance2[k] = 0;
    this.addZone(k, z1[k]!, o1[k]!, a1[k]!, b1[k]!);
    if (z2[k]! >= 0) this.addZone(k, z2[k]!, o2[k]!, a2[k]!, b2[k]!);
    if (this.gaveWay(k)) return;
    for (let j = 0; j < k; j += 1) this.link(j, k);
    this.count = k + 1;
  }

  private addZone(k: number, zone: number, o: number, a: number, b: number): void {
    const rest = a * a * this.zoneRestVariance[zone]!;
    this.mean0[k] = this.mean0[k]! - a * o * this.zoneMean[zone]!;
    this.mean1[k] = this.mean1[k]! + a * this.zoneMean[zone]!;
    this.load0[k] = this.load0[k]! - a * o * this.zoneLoad[zone]!;
    this.load1[k] = this.load1[k]! + a * this.zoneLoad[zone]!;
    this.variance0[k] = this.variance0[k]! + o * o * rest + b * b * this.leftVariance[zone]!;
    this.variance1[k] = this.variance1[k]! + 2 * o * rest;
    this.variance2[k] = this.variance2[k]! + rest;
  }

  private link(j: number, k: number): void {
    const at = j * MAX_LIMITS + k;
    this.pair0[at] = 0;
    this.pair1[at] = 0;
    this.pair2[at] = 0;
    const { z1, o1, a1, b1, z2, o2, a2, b2 } = this;
    this.share(j, k, z1[j]!, o1[j]!, a1[j]!, b1[j]!);
    if (z2[j]! >= 0) this.share(j, k, z2[j]!, o2[j]!, a2[j]!, b2[j]!);
    if (this.pair0[at] === 0 && this.pair2[at] === 0) return;
    this.markLinked(j);
    this.markLinked(k);
  }

  /** Covariance of margins j and k through one zone of j, where k looks at that zone too. */
  private share(j: number, k: number, zone: number, o: number, a: number, b: number): void {
    const at = j * MAX_LIMITS + k;
    const isFirst = zone === this.z1[k];
    if (!isFirst && zone !== this.z2[k]) return;
    const other = isFirst ? this.o1[k]! : this.o2[k]!;
    const rest = a * (isFirst ? this.a1[k]! : this.a2[k]!) * this.zoneRestVariance[zone]!;
    const left = b * (isFirst ? this.b1[k]! : this.b2[k]!) * this.leftVariance[zone]!;
    this.pair0[at] = this.pair0[at]! + o * other * rest + left;
    this.pair1[at] = this.pair1[at]! + (o + other) * rest;
    this.pair2[at] = this.pair2[at]! + rest;
  }

  private markLinked(k: number): void {
    if (this.isLinked[k]) return;
    this.isLinked[k] = 1;
    this.linkedLimits.push(k);
  }

  /**
   * True when the limit at place k has the very same random part as an earlier one: then only the tighter of the two
   * can ever be passed first, and it keeps the earlier place.
   */
  private gaveWay(k: number): boolean {
    if (this.noiseSd[k] !== 0) return false;
    for (let j = 0; j < k; j += 1) {
      if (this.noiseSd[j] !== 0) continue;
      if (this.z1[j] !== this.z1[k] || this.a1[j] !== this.a1[k] || this.b1[j] !== this.b1[k]) continue;
      if (this.z2[j] !== this.z2[k] || this.a2[j] !== this.a2[k] || this.b2[j] !== this.b2[k]) continue;
      if (this.o1[j] !== this.o1[k] || this.o2[j] !== this.o2[k]) continue;
      if (this.mean0[k]! < this.mean0[j]!) {
        this.mean0[j] = this.mean0[k]!;
        this.source[j] = this.source[k]!;
      }
      return true;
    }
    return false;
  }
}
