import { describe, expect, it } from '@jest/globals';
import { told } from './told.js';

const spoken = { locale: 'en-GB', today: '2026-05-14' };

describe('the engine’s words on a page', () => {
  // 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
  it.each([
    ['cm', 'the nape has grown by 12 mm', 'the nape has grown by 1.2 cm'],
    ['in', 'left at 51 mm ± 3 mm on 2026-05-15', 'left at 2 in ± ⅛ in on Fri 15 May'],
    ['mm', 'left at 51 mm', 'left at 51 mm'],
    ['cm', 'yours: 0.41 mm a day at the nape', 'yours: 0.41 mm a day at the nape'],
    ['cm', 'to within 0.4 mm, minus -3 mm', 'to within 0.4 mm, minus −0.3 cm'],
    ['cm', 'about 38 cm, 2026-13-45', 'about 38 cm, 2026-13-45'],
  ] as const)('says lengths in %s and days as people do: %s', (units, words, said) => {
    expect(told(words, { units, fingerWidthMm: 18 }, spoken)).toBe(said);
  });
});
