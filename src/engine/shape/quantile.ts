/** The smallest value at or below which at least `part` (0 to 1) of the weight lies. Values and weights in step, not empty. */
export function weightedQuantile(values: readonly number[], weight: readonly number[], part: number): number {
  const order = values.map((_, i) => i).sort((a, b) => values[a]! - values[b]!);
  const wanted = part * weight.reduce((sum, w) => sum + w, 0);
  let held = 0;
  for (const i of order) {
    held += weight[i]!;
    if (held >= wanted) return values[i]!;
  }
  return values[order[order.length - 1]!]!;
}
