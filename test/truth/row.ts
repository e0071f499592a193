/** One figure of ours beside what somebody outside says it is. */
export type TruthRow = {
  /** What is compared, with its unit. */
  readonly what: string;
  readonly source: string;
  /** The source's figure was written down from memory, not from a copy. */
  readonly fromMemory?: true;
  readonly theirs: number;
  readonly ours: number;
  /** Largest difference that passes; null: told, not judged. */
  readonly tolerance: number | null;
};

export type Verdict = 'pass' | 'FAIL' | 'told';

export function verdictOf({ theirs, ours, tolerance }: TruthRow): Verdict {
  if (!Number.isFinite(ours)) return 'FAIL';
  if (tolerance === null) return 'told';
  return Math.abs(ours - theirs) <= tolerance ? 'pass' : 'FAIL';
}
