import { describe, expect, it } from '@jest/globals';
import { isZone, ZONES } from './zones.js';

describe('zones', () => {
  it('knows its own and refuses others', () => {
    expect(ZONES.every(isZone)).toBe(true);
    expect(isZone('tail')).toBe(false);
  });
});
