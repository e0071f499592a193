import { describe, expect, it } from '@jest/globals';
import { dayText, momentText, shortDay } from './days.js';

const spoken = { locale: 'en-GB', today: '2026-05-14' };

describe('writing days', () => {
  // 14 May 2026 is a Thursday (ISO 8601 week date 2026-W20-4).
  it('leaves the year out near today', () => {
    expect(dayText('2026-05-14', spoken)).toMatch(/^Thu,? 14 May$/);
    expect(shortDay('2026-04-23', spoken)).toBe('23 Apr');
  });

  it('tells the year far from today', () => {
    expect(dayText('2024-05-14', spoken)).toMatch(/^Tue,? 14 May 2024$/);
    expect(shortDay('2027-06-01', spoken)).toBe('1 Jun 2027');
  });

  it('keeps the calendar day whatever the zone of the machine', () => {
    expect(shortDay('2026-01-01', spoken)).toBe('1 Jan');
  });

  it('writes a moment by the salon’s own clock', () => {
    // 2026-05-14 10:00Z is 11:00 in London, on summer time since 29 March 2026 (IANA tzdata).
    expect(momentText(Date.UTC(2026, 4, 14, 10), 'Europe/London', spoken)).toMatch(/^Thu,? 14 May, 11:00$/);
  });
});
