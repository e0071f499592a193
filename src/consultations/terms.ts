/** The trade's words for what is asked and seen before a cut, as they are stored (common practice, no source). */
export const DENSITIES = ['low', 'medium', 'high'] as const;
export type Density = (typeof DENSITIES)[number];

/** Thickness of the single hair. */
export const HAIR_TEXTURES = ['fine', 'medium', 'coarse'] as const;
export type HairTexture = (typeof HAIR_TEXTURES)[number];

export const WAVES = ['straight', 'wavy', 'curly', 'coily'] as const;
export type Wave = (typeof WAVES)[number];

export const GROWTH_PATTERNS = [
  'whorl-left',
  'whorl-middle',
  'whorl-right',
  'double-whorl',
  'cowlick-at-front',
  'widows-peak',
  'nape-grows-up',
  'nape-grows-to-left',
  'nape-grows-to-right',
] as const;
export type GrowthPattern = (typeof GROWTH_PATTERNS)[number];

/** What is seen on the scalp: words for what eyes see, never a diagnosis. */
export const SCALP_OBSERVATIONS = [
  'dry',
  'flaking',
  'oily',
  'thinning',
  'rash',
  'sensitive',
  'irritated',
  'damaged',
] as const;
export type ScalpObservation = (typeof SCALP_OBSERVATIONS)[number];

/**
 * What colour must not be put on: a rash, a sensitive, irritated or damaged scalp. Regulation (EC) 1223/2009, Annex
 * III, label of oxidative dyes.
 */
export const BARS_COLOUR: readonly ScalpObservation[] = ['rash', 'sensitive', 'irritated', 'damaged'];

/** What speaks against a service, as the client tells it. The first two bar colour. */
export const CONTRAINDICATIONS = [
  'colour-reaction',
  'black-henna-reaction',
  'allergy',
  'skin-condition',
  'medicine',
  'recent-treatment',
  'other',
] as const;
export type ContraindicationKind = (typeof CONTRAINDICATIONS)[number];

export const CONSENT_MATTERS = ['cut', 'colour', 'skin-test', 'photographs', 'health-notes'] as const;
export type ConsentMatter = (typeof CONSENT_MATTERS)[number];

export const CONSENT_WAYS = ['spoken', 'in-writing', 'signed'] as const;
export type ConsentWay = (typeof CONSENT_WAYS)[number];
