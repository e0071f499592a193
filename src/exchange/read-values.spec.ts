import { describe, expect, it } from '@jest/globals';
import { readMinutes, readMoney, readResult, readZone, splitName, unguarded } from './read-values.js';

describe('values in a sheet', () => {
  it.each([
    ['45', 4500],
    ['45,5', 4550],
    ['£45.00', 4500],
    ['EUR 45,00', 4500],
    ['1.234,50', 123_450],
    ['1,234.50', 123_450],
    ["1'234.50", 123_450],
    ['1 234,50 €', 123_450],
    ['1.234.567', 123_456_700],
  ])('reads the amount %s', (text, minor) => {
    expect(readMoney(text, 2)).toBe(minor);
  });

  it.each(['', 'free', '-3', '1,234', '4.5.6,7,8x'])('takes %p for no amount, or for two', (text) => {
    expect(readMoney(text, 2)).toBeUndefined();
  });

  it('reads amounts of a currency without a minor unit', () => {
    expect(readMoney('¥1,200', 0)).toBe(1200);
  });

  it.each([
    ['Ada Lark', 'Ada', 'Lark'],
    ['Lark, Ada', 'Ada', 'Lark'],
    ['Ada Maria  Lark', 'Ada Maria', 'Lark'],
    ['van der Lark, Ada', 'Ada', 'van der Lark'],
    ['Ada', 'Ada', ''],
    ['Ada,', 'Ada', ''],
  ])('parts the name %s', (text, givenName, familyName) => {
    expect(splitName(text)).toEqual({ givenName, familyName });
  });

  it('reads results of skin tests, and guesses none', () => {
    for (const text of ['clear', 'Negative', 'no reaction', '-', 'Neg.'])
      expect(readResult(text)).toBe('clear');
    for (const text of ['reacted', 'Positive', 'REACTION', '+', '++'])
      expect(readResult(text)).toBe('reacted');
    for (const text of ['', 'yes', 'no', 'y', '1', '?', 'not clear', 'slight itch']) {
      expect(readResult(text)).toBeUndefined();
    }
  });

  it('reads zones and times', () => {
    expect(readZone('Bangs')).toBe('fringe');
    expect(readZone('left side')).toBe('left-side');
    expect(readZone('beard')).toBeUndefined();
    expect(readMinutes('1:30')).toBe(90);
    expect(readMinutes('1 h 15 min')).toBe(75);
    expect(readMinutes('45 mins')).toBe(45);
    expect(readMinutes('long')).toBeUndefined();
  });

  it('takes the apostrophe off that guards against formulas, and no other', () => {
    expect(unguarded("'+44 7700 900101")).toBe('+44 7700 900101');
    expect(unguarded("'=1+1")).toBe('=1+1');
    expect(unguarded("'t Hooft")).toBe("'t Hooft");
  });
});
