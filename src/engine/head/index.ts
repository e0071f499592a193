export { fallDirection, stepAlongFall } from './comb.js';
export { ellipseArc } from './ellipse.js';
export { buildHead, type Head, type HeadOptions } from './head.js';
export type { Landmarks, Point } from './landmarks.js';
export { alongPolyline } from './polyline.js';
export type { Roots } from './roots.js';
export { type Surface, sphereSurface, type Vec3 } from './surface.js';
export { mirrorZone, TRADE_ZONE_BOUNDS, type ZoneBounds } from './zoning.js';
