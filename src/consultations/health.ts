import type { SafetyNoteKind } from '../skin-tests/index.js';
import { BARS_COLOUR, type ContraindicationKind, type ScalpObservation } from './terms.js';

export type Contraindication = { readonly kind: ContraindicationKind; readonly told: string };

/** What a consultation found of the client's health, as seen and told; never a diagnosis. */
export type HealthFacts = {
  readonly scalp: readonly ScalpObservation[];
  readonly scalpWords: string;
  readonly contraindications: readonly Contraindication[];
  readonly words: string;
};

type Given = {
  readonly [part in keyof HealthFacts]?: HealthFacts[part] | null | undefined;
};

/** The facts with everything that was left out empty; undefined where nothing at all was said. */
export function healthFacts(given: Given | null | undefined): HealthFacts | undefined {
  const facts = {
    scalp: given?.scalp ?? [],
    scalpWords: given?.scalpWords ?? '',
    contraindications: (given?.contraindications ?? []).map(({ kind, told }) => ({ kind, told })),
    words: given?.words ?? '',
  };
  const isEmpty =
    facts.scalp.length === 0 && facts.contraindications.length === 0 && !facts.scalpWords && !facts.words;
  return isEmpty ? undefined : facts;
}

/** The facts as they were stored. Where their key was lost and given up, words stand in their place. */
export function storedHealthFacts(text: string | undefined): HealthFacts {
  const none: HealthFacts = { scalp: [], scalpWords: '', contraindications: [], words: '' };
  if (text === undefined) return none;
  try {
    return { ...none, ...JSON.parse(text) };
  } catch {
    return { ...none, words: text };
  }
}

/**
 * The safety notes that these facts call for, each of which bars colour: a scalp that is sensitive, irritated or
 * damaged, or has a rash, and every earlier reaction. Regulation (EC) 1223/2009, Annex III, label of oxidative dyes.
 */
export function safetyNotesFor(
  facts: HealthFacts,
  heldOn: string,
): { readonly kind: SafetyNoteKind; readonly told: string }[] {
  const seen = facts.scalp.filter((observation) => BARS_COLOUR.includes(observation));
  const scalp = `Seen at the consultation of ${heldOn}: ${seen.join(', ')}. ${facts.scalpWords}`;
  return [
    ...(seen.length > 0 ? [{ kind: 'irritated-scalp' as const, told: scalp.slice(0, 2000).trim() }] : []),
    ...facts.contraindications.flatMap(({ kind, told }) =>
      kind === 'colour-reaction' || kind === 'black-henna-reaction' ? [{ kind, told }] : [],
    ),
  ];
}
