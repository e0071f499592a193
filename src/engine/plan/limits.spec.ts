import { describe, expect, it } from '@jest/globals';

import { type HoldLimit, limitInWords, limitZone } from './limits.js';

describe('limitInWords', () => {
  // The words of product and docstrings; lengths to the millimetre, to the tenth below 10 (see `mm`).
  it.each<[HoldLimit, string]>([
    [{ kind: 'grown-by', zone: 'nape', mm: 6 }, 'the nape has grown by 6 mm'],
    [{ kind: 'longer-than', zone: 'left-side', mm: 52.6 }, 'the left side is longer than 53 mm'],
    [
      { kind: 'contrast', zone: 'nape', against: 'back', by: 'difference', value: 20 },
      'the nape is no longer 20 mm shorter than the back',
    ],
    [
      { kind: 'contrast', zone: 'nape', against: 'back', by: 'difference', value: 0 },
      'the nape is no longer 0 mm shorter than the back',
    ],
    // A negative difference lets the zone be the longer one by so much.
    [
      { kind: 'contrast', zone: 'nape', against: 'back', by: 'difference', value: -20 },
      'the nape is more than 20 mm longer than the back',
    ],
    [
      { kind: 'contrast', zone: 'nape', against: 'left-side', by: 'ratio', value: 3.456 },
      'the left side is no longer 3.46 times as long as the nape',
    ],
    [{ kind: 'landmark', zone: 'fringe', landmark: 'brow' }, 'the fringe reaches the brow'],
    [
      { kind: 'landmark', zone: 'fringe', landmark: 'lid-crease' },
      'the fringe reaches the crease of the eyelid',
    ],
    [{ kind: 'weight-line', zone: 'back', dropMm: 14.7 }, 'the weight line at the back has dropped by 15 mm'],
    [{ kind: 'root-band', mm: 9.5, zone: 'crown' }, 'the root band is 9.5 mm wide'],
  ])('says %j', (limit, words) => {
    expect(limitInWords(limit)).toBe(words);
  });
});

describe('limitZone', () => {
  it('judges a root band at the parting unless told otherwise, everything else at its own zone', () => {
    expect(limitZone({ kind: 'root-band', mm: 12 })).toBe('top');
    expect(limitZone({ kind: 'root-band', mm: 12, zone: 'crown' })).toBe('crown');
    expect(limitZone({ kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 3 })).toBe(
      'nape',
    );
  });
});
