import { describe, expect, it } from '@jest/globals';
import type { LandmarkReading } from '../landmarks.js';
import { shapeInWords } from './words.js';
import { checkedId, escapeXml } from './xml.js';

type One = [LandmarkReading['zone'], LandmarkReading['landmark'], number];
const one = (...[zone, landmark, aboveMm]: One) => shapeInWords([{ zone, landmark, aboveMm, growthMm: 0 }]);
const window = { zMm: 12.3, lowMm: 5, highMm: 15, share10: 0.256 };

describe('shapeInWords', () => {
  it.each<{ of: One; sentence: string }>([
    { of: ['fringe', 'brow', 12.34], sentence: 'Fringe ends 1.2 cm above the brow.' },
    { of: ['left-side', 'ear-canal', -8], sentence: 'Left side ends 0.8 cm below the ear canal.' },
    { of: ['right-side', 'ear-canal', 8], sentence: 'Right side ends 0.8 cm above the ear canal.' },
    { of: ['back', 'nape-hairline', 70], sentence: 'Back ends 7.0 cm above the nape hairline.' },
    { of: ['nape', 'nape-hairline', 1], sentence: 'Nape ends 0.1 cm above the nape hairline.' },
    { of: ['nape', 'nape-hairline', -1], sentence: 'Nape ends 0.1 cm below the nape hairline.' },
    { of: ['nape', 'nape-hairline', -0.99], sentence: 'Nape ends at the nape hairline.' },
  ])('$sentence', ({ of, sentence }) => {
    expect(one(...of)).toBe(sentence);
  });

  it.each(['lid-crease', 'upper-lid', 'collar'] as const)('leaves %s to the figures', (landmark) => {
    expect(one('fringe', landmark, 12)).toBe('');
  });

  it('says where the weight line lies and how much of the hair is in it', () => {
    expect(shapeInWords([], { ...window, kind: 'window', lineZMm: 12.3 })).toBe(
      'Weight line 1.2 cm above the widest part of the head; 26 % of the ends lie within 1 cm.',
    );
    expect(shapeInWords([], { ...window, kind: 'graduation', lineZMm: -71.8 })).toBe(
      'The graduation ends in a weight line 7.2 cm below the widest part of the head.',
    );
    expect(shapeInWords([], { ...window, kind: 'window', lineZMm: -0.4 })).toBe(
      'Weight line at the widest part of the head; 26 % of the ends lie within 1 cm.',
    );
  });
});

describe('checkedId', () => {
  it.each(['a', 'Z', 'a1', 'card-12_x', 'a'.repeat(61)])('takes %s', (id) => {
    expect(checkedId(id)).toBe(id);
  });

  it.each(['', '1a', '-a', '_a', 'a b', 'a"b', 'a.b', 'xä', 'a'.repeat(62), ' a'])('refuses %j', (id) => {
    expect(() => checkedId(id)).toThrow(
      expect.objectContaining({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'id',
        message: 'The id of a drawing is a letter, then letters, digits, - or _.',
      }),
    );
  });
});

describe('escapeXml', () => {
  it('writes the five signs of XML 1.0 as references and control characters as spaces', () => {
    expect(escapeXml(`a&b<c>d"e'f`)).toBe('a&amp;b&lt;c&gt;d&quot;e&#39;f');
    expect(escapeXml('a\u0000b\tc\u0085d')).toBe('a b c d');
    expect(escapeXml('Żaneta, 7 mm')).toBe('Żaneta, 7 mm');
  });
});
