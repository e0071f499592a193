import { describe, expect, it } from '@jest/globals';
import { DomainError } from '../base/index.js';
import { readStretches, readWeek, stretchesText, weekField, weekValues } from './week-text.js';

const NAMES = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'];

describe('hours of a day, as people write them', () => {
  it.each([
    ['9-13, 14-17:30', '09:00–13:00, 14:00–17:30'],
    ['09:00–17:30', '09:00–17:30'],
    ['0930 to 1800', '09:30–18:00'],
    ['9.30 until 12 and 13-17', '09:30–12:00, 13:00–17:00'],
    ['off', ''],
    ['  ', ''],
  ])('reads %s', (text, written) => {
    expect(stretchesText(readStretches(text, 'day.1', 'Monday'))).toBe(written);
  });

  it.each(['9', '9-25', '9-12:75', 'mornings', '9-13 14-17'])('refuses %s, naming the day', (text) => {
    expect(() => readStretches(text, 'day.1', 'Monday')).toThrow(/^Monday: write from when to when/);
  });

  it('reads what it wrote', () => {
    const week = [
      { weekday: 1, from: '14:00', to: '17:30' },
      { weekday: 1, from: '09:00', to: '13:00' },
      { weekday: 6, from: '08:00', to: '12:00' },
    ];
    const values = weekValues(week);
    expect(values['day.1']).toBe('09:00–13:00, 14:00–17:30');
    const read = readWeek(values, NAMES);
    expect(weekValues(read)).toEqual(values);
    expect(weekField(read, 'entries.2.endsAt')).toBe('day.6');
    expect(weekField(read, 'expectedVersion')).toBe('expectedVersion');
  });

  it('tells all that cannot be read at once', () => {
    try {
      readWeek({ 'day.2': 'x', 'day.5': 'y' }, NAMES);
      throw new Error('It was read.');
    } catch (error) {
      expect(error).toBeInstanceOf(DomainError);
      expect((error as DomainError).fields.map(({ field }) => field)).toEqual(['day.2', 'day.5']);
    }
  });
});
