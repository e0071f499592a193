export interface Quadrature {
  readonly nodes: readonly number[];
  readonly weights: readonly number[];
}

/**
 * Nodes and weights with sum(weights[i] * f(nodes[i])) = E f(X) for a standard normal X, exact for
 * polynomials up to degree 2n - 1. Nodes ascend; weights add up to 1. `count` from 1 to 60.
 *
 * Roots of the orthonormal (probabilists') Hermite polynomial by Newton with deflation,
 * weights from the Christoffel numbers (Davis and Rabinowitz, Methods of Numerical Integration, 2.7).
 */
export function gaussHermite(count: number): Quadrature {
  const nodes: number[] = [];
  for (let k = 0; k < count; k += 1) nodes.push(nextRoot(count, nodes));
  nodes.sort((a, b) => a - b);
  const weights = nodes.map((x) => 1 / orthonormal(count, x).sumOfSquares);
  const total = weights.reduce((sum, w) => sum + w, 0);
  return { nodes, weights: weights.map((w) => w / total) };
}

/** From the largest root downwards: starting above all that is left, Newton with deflation cannot skip a root. */
function nextRoot(count: number, found: readonly number[]): number {
  let x = found.length === 0 ? 2 * Math.sqrt(count) : (found[found.length - 1] as number) - 1e-3;
  for (let step = 0; step < 200; step += 1) {
    const { value, derivative } = orthonormal(count, x);
    const pull = found.reduce((sum, root) => sum + 1 / (x - root), 0);
    const move = value / (derivative - value * pull);
    x -= move;
    if (Math.abs(move) < 1e-14 * (1 + Math.abs(x))) break;
  }
  return x;
}

function orthonormal(count: number, x: number): { value: number; derivative: number; sumOfSquares: number } {
  let before = 0;
  let value = 1;
  let sumOfSquares = 0;
  for (let k = 0; k < count; k += 1) {
    sumOfSquares += value * value;
    const next = (x * value - Math.sqrt(k) * before) / Math.sqrt(k + 1);
    before = value;
    value = next;
  }
  return { value, derivative: Math.sqrt(count) * before, sumOfSquares };
}
