/** The trade's words for how a zone is cut, as they are stored. */
export const SECTION_DIRECTIONS = [
  'horizontal',
  'vertical',
  'diagonal-forward',
  'diagonal-back',
  'radial',
] as const;
export type SectionDirection = (typeof SECTION_DIRECTIONS)[number];

export const FORMULA_METHODS = [
  'travelling-guide',
  'stationary-guide',
  'natural-fall',
  'held-to-level',
  'clipper-guard',
  'taper',
  'texture',
] as const;
export type FormulaMethod = (typeof FORMULA_METHODS)[number];

export const GUIDE_KINDS = ['travelling', 'stationary'] as const;
export type GuideKind = (typeof GUIDE_KINDS)[number];

export const TECHNIQUES = [
  'club',
  'point',
  'slice',
  'scissor-over-comb',
  'clipper-over-comb',
  'razor',
] as const;
export type Technique = (typeof TECHNIQUES)[number];

export const ZONE_LINK_KINDS = ['blended', 'disconnected'] as const;
export type ZoneLinkKind = (typeof ZONE_LINK_KINDS)[number];

export const LIMIT_KINDS = [
  'grown-by',
  'longer-than',
  'contrast',
  'landmark',
  'weight-line',
  'root-band',
] as const;
export type LimitKind = (typeof LIMIT_KINDS)[number];

export const MEASURING_TOOLS = ['hand', 'ruler', 'guard'] as const;
export type MeasuringTool = (typeof MEASURING_TOOLS)[number];
