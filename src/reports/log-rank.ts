import { normalCdf } from '../engine/stats/index.js';
import type { TimeCount } from './kaplan-meier.js';

export type LogRank = {
  /** Endings seen in the first group and those expected if both groups were alike. */
  readonly observed: number;
  readonly expected: number;
  /** One degree of freedom. */
  readonly chiSquared: number;
  readonly p: number;
};

function byDay(counts: readonly TimeCount[]): Map<number, { ended: number; open: number }> {
  const days = new Map<number, { ended: number; open: number }>();
  for (const { days: day, ended, open } of counts) {
    const sum = days.get(day) ?? { ended: 0, open: 0 };
    days.set(day, { ended: sum.ended + ended, open: sum.open + open });
  }
  return days;
}

/**
 * Whether two groups end alike over time (Mantel 1966, Cancer Chemother Rep 50:163-170), ties by the hypergeometric
 * variance. Undefined where the data cannot tell: an empty group, or nothing ended while both were followed.
 */
export function logRank(first: readonly TimeCount[], second: readonly TimeCount[]): LogRank | undefined {
  const a = byDay(first);
  const b = byDay(second);
  const size = (group: typeof a) =>
    [...group.values()].reduce((sum, { ended, open }) => sum + ended + open, 0);
  let riskA = size(a);
  let riskB = size(b);
  let observed = 0;
  let expected = 0;
  let variance = 0;
  for (const day of [...new Set([...a.keys(), ...b.keys()])].sort((x, y) => x - y)) {
    const ofA = a.get(day) ?? { ended: 0, open: 0 };
    const ofB = b.get(day) ?? { ended: 0, open: 0 };
    const risk = riskA + riskB;
    const ended = ofA.ended + ofB.ended;
    observed += ofA.ended;
    expected += (ended * riskA) / risk;
    if (risk > 1) variance += (ended * riskA * riskB * (risk - ended)) / (risk * risk * (risk - 1));
    riskA -= ofA.ended + ofA.open;
    riskB -= ofB.ended + ofB.open;
  }
  if (variance <= 0) return undefined;
  const chiSquared = (observed - expected) ** 2 / variance;
  return { observed, expected, chiSquared, p: 2 * normalCdf(-Math.sqrt(chiSquared)) };
}
