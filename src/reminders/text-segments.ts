/**
 * GSM 7 bit default alphabet of 3GPP TS 23.038, section 6.2.1, in its order; and the characters of its extension
 * table, section 6.2.1.1, each of which takes two septets because an escape goes before it.
 */
const BASIC =
  '@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !"#¤%&\'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà';
const EXTENDED = '\f^{}\\[~]|€';

/** 140 octets of user data (TS 23.040): 160 septets or 70 UCS-2 units; 6 octets fewer for each part of a longer text. */
const GSM = { alone: 160, part: 153 } as const;
const UCS2 = { alone: 70, part: 67 } as const;

export type TextSegments = {
  readonly alphabet: 'GSM-7' | 'UCS-2';
  /** Septets or UTF-16 units. */
  readonly units: number;
  /** How many messages it is charged as; at least 1. */
  readonly segments: number;
};

/**
 * As how many segments a text goes over the air. One character outside the GSM alphabet turns all of it into
 * UCS-2. A part never ends between an escape and its character, nor inside a surrogate pair, which may leave a
 * unit unused.
 */
export function segmentsOf(text: string): TextSegments {
  const characters = [...text];
  const gsm = characters.every((character) => BASIC.includes(character) || EXTENDED.includes(character));
  const sizes = characters.map((character) =>
    gsm ? (EXTENDED.includes(character) ? 2 : 1) : character.length,
  );
  const { alone, part } = gsm ? GSM : UCS2;
  const units = sizes.reduce((sum, size) => sum + size, 0);
  return {
    alphabet: gsm ? 'GSM-7' : 'UCS-2',
    units,
    segments: units <= alone ? 1 : partsOf(sizes, part),
  };
}

function partsOf(sizes: readonly number[], room: number): number {
  let parts = 1;
  let filled = 0;
  for (const size of sizes) {
    if (filled + size > room) {
      parts += 1;
      filled = 0;
    }
    filled += size;
  }
  return parts;
}
