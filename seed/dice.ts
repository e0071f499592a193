import { v7 } from 'uuid';
import { seededNormal, seededUniform } from '../src/engine/stats/index.js';

/** A repeatable source of chance: the same seed throws the same. */
export class Dice {
  private readonly uniform: () => number;
  private readonly standardNormal: () => number;

  constructor(seed: number) {
    this.uniform = seededUniform(seed);
    this.standardNormal = seededNormal(this.uniform);
  }

  chance(probability: number): boolean {
    return this.uniform() < probability;
  }

  /** Whole number from `low` to `high`, both included. */
  whole(low: number, high: number): number {
    return low + Math.floor(this.uniform() * (high - low + 1));
  }

  normal(mean: number, sd: number): number {
    return mean + sd * this.standardNormal();
  }

  /** Exponential waiting time. */
  wait(mean: number): number {
    return -mean * Math.log(1 - this.uniform());
  }

  pick<T>(values: readonly T[]): T {
    return values[this.whole(0, values.length - 1)] as T;
  }

  /** One of the values, as often as its weight says. */
  weighted<T>(entries: readonly (readonly [value: T, weight: number])[]): T {
    let left = this.uniform() * entries.reduce((sum, [, weight]) => sum + weight, 0);
    for (const [value, weight] of entries) {
      left -= weight;
      if (left < 0) return value;
    }
    return (entries.at(-1) as readonly [T, number])[0];
  }

  shuffled<T>(values: readonly T[]): T[] {
    const result = [...values];
    for (let i = result.length - 1; i > 0; i -= 1) {
      const j = this.whole(0, i);
      [result[i], result[j]] = [result[j] as T, result[i] as T];
    }
    return result;
  }

  /** A UUID v7 that carries the given instant; repeatable, unlike the store's own. */
  id(at: number): string {
    const random = new Uint8Array(16);
    for (let i = 0; i < 16; i += 4) {
      const word = Math.floor(this.uniform() * 2 ** 32);
      random[i] = word;
      random[i + 1] = word >>> 8;
      random[i + 2] = word >>> 16;
      random[i + 3] = word >>> 24;
    }
    return v7({ msecs: at, random });
  }
}
