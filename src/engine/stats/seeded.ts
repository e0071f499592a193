// Looked up once: inside a test runner's context every reach for a global is slow.
const { imul, log, sqrt } = Math;

/**
 * Repeatable random numbers for simulations and demo data: mulberry32 by Tommy Ettinger (public domain), uniform on
 * [0, 1). Not for secrets.
 */
export function seededUniform(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

/** Standard normal numbers from a uniform source (Marsaglia's polar method). */
export function seededNormal(uniform: () => number): () => number {
  let spare: number | null = null;
  return () => {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    for (;;) {
      const u = 2 * uniform() - 1;
      const v = 2 * uniform() - 1;
      const s = u * u + v * v;
      if (s > 0 && s < 1) {
        const scale = sqrt((-2 * log(s)) / s);
        spare = v * scale;
        return u * scale;
      }
    }
  };
}
