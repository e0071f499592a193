import { EngineError } from '../errors.js';
import { gaussHermite, normalCdf, normalDensity } from '../stats/index.js';
import { ZONES } from '../zones.js';
import type { Margin } from './margins.js';

/** What does not fail within two years is not a question of hold. */
export const HORIZON_DAYS = 730;

/**
 * Growth of one person as the survival needs it, in mm a day, one number per zone in each part: the mean rate, its
 * part shared through the person factor (per standard deviation of that factor), the standard deviation of the rest.
 */
export const LOADINGS = 3 * ZONES.length;

const MAX_LIMITS = 30;
/** The person factor in standard deviations, with the weights of an expectation over it. */
export const { nodes: PERSON_NODES, weights: PERSON_WEIGHTS } = gaussHermite(15);

/** Linear table of the normal distribution, absolute error below 2e-6: a window takes some thousand values. */
const TABLE_STEP = 128;
const TABLE_EDGE = 8;
const TABLE = Float64Array.from({ length: 2 * TABLE_EDGE * TABLE_STEP + 2 }, (_, i) =>
  normalCdf(i / TABLE_STEP - TABLE_EDGE),
);

function quickCdf(x: number): number {
  if (x <= -TABLE_EDGE) return 0;
  if (x >= TABLE_EDGE) return 1;
  const place = (x + TABLE_EDGE) * TABLE_STEP;
  const index = place | 0;
  const low = TABLE[index] as number;
  return low + (place - index) * ((TABLE[index + 1] as number) - low);
}

const floats = (length: number) => new Float64Array(length);

/**
 * Survival of a shape: the probability that all its margins are still above 0 on a day.
 *
 *   S(t) = E over p of P(every margin > 0 at t | p), p by Gauss-Hermite with 15 nodes
 *
 * Given p, margins that share no zone are independent and multiply. Those that share one are taken in turn, the most
 * endangered first, each conditioned on the earlier ones through the moments of the truncated normal distribution
 * (Mendell, Elston 1974, Biometrics 30:41-57).
 *
 * One instance is a workspace to use again and again: `begin`, `add` every limit, then ask.
 */
export class ShapeSurvival {
  private count = 0;
  private linked = false;
  private readonly zoneMean = floats(ZONES.length);
  private readonly zoneLoad = floats(ZONES.length);
  private readonly zoneRestVariance = floats(ZONES.length);
  private readonly leftVariance = floats(ZONES.length);
  private readonly margins: Margin[] = [];
  private readonly rateMean = floats(MAX_LIMITS);
  private readonly rateLoad = floats(MAX_LIMITS);
  private readonly rateVariance = floats(MAX_LIMITS);
  private readonly noiseVariance = floats(MAX_LIMITS);
  private readonly pairRate = floats(MAX_LIMITS * MAX_LIMITS);
  private readonly pairNoise = floats(MAX_LIMITS * MAX_LIMITS);
  private readonly centre = floats(MAX_LIMITS);
  private readonly slope = floats(MAX_LIMITS);
  private readonly h = floats(MAX_LIMITS);
  private readonly correlation = floats(MAX_LIMITS * MAX_LIMITS);
  private readonly scratch = floats(MAX_LIMITS * MAX_LIMITS);
  private readonly spread = floats(MAX_LIMITS);

  /** Starts a shape: `loadings` (see LOADINGS) read at `loadingsFrom`, `leftSdMm` per zone at `leftFrom`. */
  begin(loadings: Float64Array, loadingsFrom: number, leftSdMm: Float64Array, leftFrom: number): void {
    this.count = 0;
    this.linked = false;
    for (let z = 0; z < ZONES.length; z += 1) {
      this.zoneMean[z] = loadings[loadingsFrom + z]!;
      this.zoneLoad[z] = loadings[loadingsFrom + ZONES.length + z]!;
      this.zoneRestVariance[z] = loadings[loadingsFrom + 2 * ZONES.length + z]! ** 2;
      this.leftVariance[z] = leftSdMm[leftFrom + z]! ** 2;
    }
  }

  add(margin: Margin): void {
    const k = this.count;
    if (k === MAX_LIMITS) {
      throw new EngineError(
        'ENGINE.OUT_OF_RANGE',
        'limits',
        `A shape can have at most ${MAX_LIMITS} hold limits.`,
      );
    }
    if (this.isRedundant(margin)) return;
    const { z1, a1, b1, z2, a2, b2 } = margin;
    const two = z2 >= 0;
    this.margins[k] = margin;
    this.rateMean[k] = a1 * this.zoneMean[z1]! + (two ? a2 * this.zoneMean[z2]! : 0);
    this.rateLoad[k] = a1 * this.zoneLoad[z1]! + (two ? a2 * this.zoneLoad[z2]! : 0);
    this.rateVariance[k] =
      a1 * a1 * this.zoneRestVariance[z1]! + (two ? a2 * a2 * this.zoneRestVariance[z2]! : 0);
    this.noiseVariance[k] =
      b1 * b1 * this.leftVariance[z1]! +
      (two ? b2 * b2 * this.leftVariance[z2]! : 0) +
      margin.noiseSd * margin.noiseSd;
    for (let j = 0; j < k; j += 1) this.link(j, k);
    this.count = k + 1;
  }

  /** 1 - S(t): the probability that at least one limit is passed `days` after the cut. */
  failed(days: number): number {
    this.prepare(days);
    let survival = 0;
    for (let i = 0; i < PERSON_NODES.length; i += 1) {
      survival += PERSON_WEIGHTS[i]! * this.holdGivenPerson(PERSON_NODES[i]!);
    }
    return 1 - survival;
  }

  /** Probability that all limits hold on the day last prepared, for a person `x` standard deviations off the mean. */
  holdGivenPerson(x: number): number {
    for (let k = 0; k < this.count; k += 1) this.h[k] = this.centre[k]! + this.slope[k]! * x;
    return this.linked ? this.jointHold() : this.productHold();
  }

  /** Centre and slope of every standardised margin h = margin / sd in the person factor, and their correlations. */
  prepare(days: number): void {
    const n = this.count;
    for (let k = 0; k < n; k += 1) {
      const grown = days + this.margins[k]!.offset;
      const sd = Math.sqrt(Math.max(1e-18, grown * grown * this.rateVariance[k]! + this.noiseVariance[k]!));
      this.centre[k] = (this.margins[k]!.c - grown * this.rateMean[k]!) / sd;
      this.slope[k] = (-grown * this.rateLoad[k]!) / sd;
      if (!this.linked) continue;
      this.h[k] = sd;
      for (let j = 0; j < k; j += 1) {
        const shared =
          grown * (days + this.margins[j]!.offset) * this.pairRate[j * MAX_LIMITS + k]! +
          this.pairNoise[j * MAX_LIMITS + k]!;
        const r = Math.max(-1, Math.min(1, shared / (sd * this.h[j]!)));
        this.correlation[j * MAX_LIMITS + k] = r;
        this.correlation[k * MAX_LIMITS + j] = r;
      }
    }
  }

  private productHold(): number {
    let hold = 1;
    for (let k = 0; k < this.count; k += 1) hold *= quickCdf(this.h[k]!);
    return hold;
  }

  private jointHold(): number {
    const n = this.count;
    const { h, scratch } = this;
    for (let j = 0; j < n; j += 1) {
      for (let k = 0; k < n; k += 1) scratch[j * MAX_LIMITS + k] = this.correlation[j * MAX_LIMITS + k]!;
    }
    let hold = 1;
    let taken = 0;
    for (let step = 0; step < n; step += 1) {
      let j = -1;
      for (let k = 0; k < n; k += 1) if ((taken & (1 << k)) === 0 && (j < 0 || h[k]! < h[j]!)) j = k;
      taken |= 1 << j;
      const p = quickCdf(h[j]!);
      hold *= p;
      if (hold < 1e-12) return 0;
      if (p < 1 - 1e-9) this.condition(j, p, taken);
    }
    return hold;
  }

  /** Moves centre, spread and correlations of the margins not yet taken to what they are when margin j holds. */
  private condition(j: number, p: number, taken: number): void {
    const n = this.count;
    const { h, scratch, spread } = this;
    const lift = normalDensity(h[j]!) / p;
    const shrink = lift * (lift + h[j]!);
    for (let k = 0; k < n; k += 1) {
      if ((taken & (1 << k)) !== 0) continue;
      const r = scratch[j * MAX_LIMITS + k]!;
      spread[k] = Math.sqrt(Math.max(1e-12, 1 - r * r * shrink));
      h[k] = (h[k]! + r * lift) / spread[k]!;
      for (let l = 0; l < k; l += 1) {
        if ((taken & (1 << l)) !== 0) continue;
        const both = scratch[k * MAX_LIMITS + l]! - r * scratch[j * MAX_LIMITS + l]! * shrink;
        scratch[k * MAX_LIMITS + l] = both / (spread[k]! * spread[l]!);
        scratch[l * MAX_LIMITS + k] = scratch[k * MAX_LIMITS + l]!;
      }
    }
  }

  private link(j: number, k: number): void {
    const first = this.margins[j]!;
    const second = this.margins[k]!;
    let rate = 0;
    let noise = 0;
    for (const [za, aa, ba] of [
      [first.z1, first.a1, first.b1],
      [first.z2, first.a2, first.b2],
    ] as const) {
      if (za < 0) continue;
      if (za === second.z1) {
        rate += aa * second.a1 * this.zoneRestVariance[za]!;
        noise += ba * second.b1 * this.leftVariance[za]!;
      } else if (za === second.z2) {
        rate += aa * second.a2 * this.zoneRestVariance[za]!;
        noise += ba * second.b2 * this.leftVariance[za]!;
      }
    }
    this.pairRate[j * MAX_LIMITS + k] = rate;
    this.pairNoise[j * MAX_LIMITS + k] = noise;
    if (rate !== 0 || noise !== 0) this.linked = true;
  }

  /** True when another limit with the very same random part is at least as tight; a looser one gives way. */
  private isRedundant(margin: Margin): boolean {
    for (let k = 0; k < this.count; k += 1) {
      const other = this.margins[k]!;
      const same =
        other.offset === margin.offset &&
        other.z1 === margin.z1 &&
        other.z2 === margin.z2 &&
        other.a1 === margin.a1 &&
        other.a2 === margin.a2 &&
        other.b1 === margin.b1 &&
        other.b2 === margin.b2 &&
        other.noiseSd === 0 &&
        margin.noiseSd === 0;
      if (!same) continue;
      if (margin.c < other.c) this.margins[k] = margin;
      return true;
    }
    return false;
  }
}
