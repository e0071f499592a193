import { fold } from '../base/index.js';

/** Letters that Unicode does not take apart into a base letter and an accent. */
const WHOLE_LETTERS: Readonly<Record<string, string>> = {
  ø: 'o',
  ł: 'l',
  đ: 'd',
  ð: 'd',
  þ: 'th',
  æ: 'ae',
  œ: 'oe',
  ħ: 'h',
  ı: 'i',
};

/** Folds a name for comparing; an apostrophe joins ("O'Brien" is "obrien"), other marks part words. */
export function foldName(text: string): string {
  return fold(
    text
      .toLowerCase()
      .replace(/['’ʼ`´]/g, '')
      .replace(/[øłđðþæœħı]/g, (letter) => WHOLE_LETTERS[letter] ?? letter),
  );
}

/** What a client is found by: folded names, then the digits of the phone number. */
export function searchTextOf(client: {
  readonly givenName: string;
  readonly familyName: string;
  readonly knownAs: string | null;
  readonly phone: string | null;
}): string {
  const names = foldName([client.givenName, client.familyName, client.knownAs ?? ''].join(' '));
  const digits = (client.phone ?? '').replace(/\D/g, '');
  return `${[...names].slice(0, 280).join('')} ${digits}`.trim();
}
