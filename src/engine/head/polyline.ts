/**
 * y at `x` on the polyline through `points` (x, y), which must rise in x: straight between the points, and beyond the
 * first and the last as the outermost pieces run.
 */
export function alongPolyline(points: ReadonlyArray<readonly [number, number]>, x: number): number {
  let i = 1;
  while (i < points.length - 1 && x > points[i]![0]) i++;
  const [x0, y0] = points[i - 1]!;
  const [x1, y1] = points[i]!;
  return y0 + ((y1 - y0) * (x - x0)) / (x1 - x0);
}
