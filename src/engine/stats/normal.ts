const { abs, exp, log, PI, sqrt } = Math;

const SQRT_2PI = sqrt(2 * PI);

/** Density of the standard normal distribution. */
export function normalDensity(x: number): number {
  return exp(-0.5 * x * x) / SQRT_2PI;
}

/**
 * P(X <= x) for a standard normal X, absolute error below 1e-14.
 *
 * Rational approximation of Hart (Computer Approximations, 1968, no. 5666) in the form of
 * West, "Better approximations to cumulative normal functions", Wilmott Magazine, May 2005.
 */
export function normalCdf(x: number): number {
  const z = abs(x);
  if (z > 37) return x > 0 ? 1 : 0;
  const tail = exp(-0.5 * z * z) * (z < 7.07106781186547 ? hartRatio(z) : continuedFraction(z));
  return x > 0 ? 1 - tail : tail;
}

function hartRatio(z: number): number {
  let top = 3.52624965998911e-2 * z + 0.700383064443688;
  top = top * z + 6.37396220353165;
  top = top * z + 33.912866078383;
  top = top * z + 112.079291497871;
  top = top * z + 221.213596169931;
  top = top * z + 220.206867912376;
  let bottom = 8.83883476483184e-2 * z + 1.75566716318264;
  bottom = bottom * z + 16.064177579207;
  bottom = bottom * z + 86.7807322029461;
  bottom = bottom * z + 296.564248779674;
  bottom = bottom * z + 637.333633378831;
  bottom = bottom * z + 793.826512519948;
  bottom = bottom * z + 440.413735824752;
  return top / bottom;
}

function continuedFraction(z: number): number {
  return 1 / ((z + 1 / (z + 2 / (z + 3 / (z + 4 / (z + 0.65))))) * SQRT_2PI);
}

/**
 * The x with P(X <= x) = `probability` for a standard normal X; `probability` strictly between 0 and 1.
 *
 * Start from Abramowitz and Stegun 26.2.23, then Newton-Halley steps on {@link normalCdf}.
 */
export function normalQuantile(probability: number): number {
  if (!(probability > 0 && probability < 1))
    throw new RangeError('probability must lie strictly between 0 and 1');
  if (probability > 0.5) return -normalQuantile(1 - probability);
  const t = sqrt(-2 * log(probability));
  let x =
    (2.515517 + 0.802853 * t + 0.010328 * t * t) / (1 + 1.432788 * t + 0.189269 * t * t + 0.001308 * t ** 3) -
    t;
  for (let step = 0; step < 3; step += 1) {
    const newton = (normalCdf(x) - probability) / normalDensity(x);
    x -= newton / (1 + 0.5 * x * newton);
  }
  return x;
}
