import { describe, expect, it } from '@jest/globals';
import { DomainError } from '../base/index.js';
import { fingersText, lengthInBox, lengthText, parseLength, type Ruler, rangeText } from './lengths.js';

const cm: Ruler = { units: 'cm', fingerWidthMm: 18 };
const inches: Ruler = { units: 'in', fingerWidthMm: 20 };

describe('showing lengths', () => {
  // 1 in = 25.4 mm exactly: NIST SP 811, appendix B.8.
  it.each([
    [52, 'cm', '5.2 cm'],
    [52, 'mm', '52 mm'],
    [25.4, 'in', '1 in'],
    [12.7, 'in', '½ in'],
    [53.975, 'in', '2⅛ in'],
    [1, 'in', '0 in'],
    [-4, 'cm', '−0.4 cm'],
    [-0.2, 'cm', '0.0 cm'],
    [-12.7, 'in', '−½ in'],
  ] as const)('%d mm in %s reads %s', (mm, units, text) => {
    expect(lengthText(mm, units)).toBe(text);
  });

  it('shows a range with its unit once', () => {
    expect(rangeText(48, 56, 'cm')).toBe('4.8–5.6 cm');
  });

  it.each([
    [18, '1 finger'],
    [27, '1½ fingers'],
    [9, '½ finger'],
    [4, ''],
    [-18, ''],
    [36, '2 fingers'],
  ])('%d mm on an 18 mm finger is "%s"', (mm, text) => {
    expect(fingersText(mm, 18)).toBe(text);
  });
});

describe('reading typed lengths', () => {
  it.each([
    ['5.2', cm, 52],
    ['5,2', cm, 52],
    ['.5', cm, 5],
    ['52 mm', cm, 52],
    ['2 in', cm, 50.8],
    ['2 1/4"', cm, 57.15],
    ['2¼', inches, 57.15],
    ['1/2', inches, 12.7],
    ['2½ fingers', inches, 50],
    ['-3', cm, -30],
    ['0', cm, 0],
  ] as const)('%s is read', (text, ruler, mm) => {
    expect(parseLength(text, 'left-nape', ruler)).toBe(mm);
  });

  it('takes an empty box as nothing', () => {
    expect(parseLength('  ', 'left-nape', cm)).toBeUndefined();
    expect(parseLength(undefined, 'left-nape', cm)).toBeUndefined();
  });

  it.each(['abc', '5 ells', '1/0', '1e3', 'NaN', 'Infinity', '5.2.1', '3 4'])(
    'refuses "%s" naming the box',
    (text) => {
      let caught: unknown;
      try {
        parseLength(text, 'left-nape', cm);
      } catch (error) {
        caught = error;
      }
      expect(caught).toBeInstanceOf(DomainError);
      expect((caught as DomainError).fields[0]?.field).toBe('left-nape');
      expect((caught as DomainError).message).toContain('5.2');
    },
  );

  it('gives back what the box showed', () => {
    for (const units of ['cm', 'in', 'mm'] as const) {
      for (const mm of [0, 3, 12, 52, 187]) {
        const again = parseLength(lengthInBox(mm, units), 'x', { units, fingerWidthMm: 18 });
        expect(Math.abs((again ?? Number.NaN) - mm)).toBeLessThan(0.13);
      }
    }
  });
});
