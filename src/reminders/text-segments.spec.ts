import { describe, expect, it } from '@jest/globals';
import { segmentsOf } from './text-segments.js';

/*
 * 3GPP TS 23.038 (alphabets) and TS 23.040 section 9.2.3.24.1 (a concatenated part gives 6 of its 140 octets to
 * the header: 153 septets or 67 UCS-2 characters are left). Counts worked by hand.
 */
describe('segments of a text', () => {
  it.each([
    ['', 'GSM-7', 0, 1],
    ['a'.repeat(160), 'GSM-7', 160, 1],
    ['a'.repeat(161), 'GSM-7', 161, 2],
    ['a'.repeat(306), 'GSM-7', 306, 2],
    ['a'.repeat(307), 'GSM-7', 307, 3],
    // Every character of the extension table takes an escape before it.
    ['€'.repeat(80), 'GSM-7', 160, 1],
    [`${'€'.repeat(80)}a`, 'GSM-7', 161, 2],
    // 153 is odd: the 77th euro does not fit into the first part whole and goes into the second.
    ['€'.repeat(153), 'GSM-7', 306, 3],
    [`a${'€'.repeat(152)}`, 'GSM-7', 305, 2],
    // The Greek capitals, the pound and e acute are in the default alphabet; e circumflex is not.
    ['ΔΦΓΛΩΠΨΣΘΞ £5 née', 'GSM-7', 17, 1],
    [`ê${'a'.repeat(69)}`, 'UCS-2', 70, 1],
    [`ê${'a'.repeat(70)}`, 'UCS-2', 71, 2],
    [`ê${'a'.repeat(133)}`, 'UCS-2', 134, 2],
    [`ê${'a'.repeat(134)}`, 'UCS-2', 135, 3],
    // Outside the basic plane a character takes two UTF-16 units, and its pair is not torn apart: 33 of them,
    // 66 units, fill a part of 67.
    ['💇'.repeat(35), 'UCS-2', 70, 1],
    ['💇'.repeat(36), 'UCS-2', 72, 2],
    ['💇'.repeat(67), 'UCS-2', 134, 3],
  ] as const)('%j', (text, alphabet, units, segments) => {
    expect(segmentsOf(text)).toEqual({ alphabet, units, segments });
  });

  it('knows each of the 127 characters of the default alphabet and the 10 of its extension', () => {
    // From TS 23.038 table 6.2.1 by columns; the 128th place is the escape itself.
    const columns = [
      '@£$¥èéùìòÇ\nØø\rÅå',
      'Δ_ΦΓΛΩΠΨΣΘΞÆæßÉ',
      ' !"#¤%&\'()*+,-./',
      '0123456789:;<=>?',
      '¡ABCDEFGHIJKLMNO',
      'PQRSTUVWXYZÄÖÑÜ§',
      '¿abcdefghijklmno',
      'pqrstuvwxyzäöñüà',
    ];
    const basic = columns.join('');
    expect(basic).toHaveLength(127);
    expect(segmentsOf(basic)).toMatchObject({ alphabet: 'GSM-7', units: 127 });
    expect(segmentsOf('\f^{}\\[~]|€')).toMatchObject({ alphabet: 'GSM-7', units: 20 });
    for (const other of ['`', 'ç', 'á', '’', '–', '\t']) {
      expect(segmentsOf(other)).toMatchObject({ alphabet: 'UCS-2' });
    }
  });
});
