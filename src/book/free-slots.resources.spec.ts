import { describe, expect, it } from '@jest/globals';
import { localDays, type Stretch, workingStretches } from '../salon/index.js';
import { freeSlots } from './free-slots.js';
import type { Plan } from './layout.js';

const DAY = '2026-06-01';
const at = (time: string) => Date.parse(`${DAY}T${time}Z`);
const held = (from: string, to: string): Stretch => ({ startsAt: at(from), endsAt: at(to) });

/** Starts of 45 minutes from 9 to 12 in UTC, where these are held; worked out by hand below. */
function starts(plan: Plan, resources: Parameters<typeof freeSlots>[3], own: readonly Stretch[] = []) {
  const days = localDays('UTC', DAY, DAY);
  const stretches = workingStretches(days, [{ weekday: 1, startsAt: '09:00', endsAt: '12:00' }], []);
  const rules = { lengthMinutes: 45, plan, shortestMinutes: 15, notBefore: 0 };
  return freeSlots([{ staffId: 'm', stretches, held: own }], days, rules, resources);
}
const times = (...given: Parameters<typeof starts>) => starts(...given).map(({ time }) => time);

const ALL = ['09:00', '09:15', '09:30', '09:45', '10:00', '10:15', '10:30', '10:45', '11:00', '11:15'];

describe('freeSlots with things that are held', () => {
  it('ends every slot as long after its start as the service lasts', () => {
    for (const { startsAt, endsAt, time } of starts({}, undefined)) {
      expect(endsAt - startsAt).toBe(45 * 60_000);
      expect(startsAt).toBe(at(time));
    }
  });

  it('needs one chair that is free all through, to the minute', () => {
    const chair = { resources: ['chair' as const] };
    expect(times(chair, new Map([['chair', [[]]]]))).toEqual(ALL);
    // Held from 10:00 to 10:30: nothing between 9:15, which ends then, and 10:30, which starts then.
    const one = new Map([['chair' as const, [[held('10:00', '10:30')]]]]);
    expect(times(chair, one)).toEqual(['09:00', '09:15', '10:30', '10:45', '11:00', '11:15']);
    // Two chairs: from 9:30 to 10:15 neither is free all through, at any other start one is.
    const two = new Map([['chair' as const, [[held('10:00', '10:30')], [held('09:00', '09:45')]]]]);
    expect(times(chair, two)).toEqual(ALL.filter((time) => time !== '09:30'));
    const crossed = new Map([['chair' as const, [[held('10:00', '12:00')], [held('09:00', '10:30')]]]]);
    expect(times(chair, crossed)).toEqual(['09:00', '09:15', '10:30', '10:45', '11:00', '11:15']);
    expect(times(chair, new Map())).toEqual([]);
  });

  it('looks at the last that began before, and past one that begins as it ends', () => {
    const chair = { resources: ['chair' as const] };
    const row = [held('09:00', '09:15'), held('10:00', '10:15'), held('11:30', '12:00')];
    expect(times(chair, new Map([['chair', [row]]]))).toEqual(['09:15', '10:15', '10:30', '10:45']);
  });

  it('wants a basin only for the step that needs it', () => {
    const steps: Plan = {
      steps: [
        { activity: 'active', minutes: 15 },
        { activity: 'processing', minutes: 15 },
        { activity: 'active', minutes: 15, resources: ['wash-basin'] },
      ],
    };
    // The third step begins 30 minutes after the start and lasts 15: the basin is held from 10:00 to 10:30.
    const basin = new Map([['wash-basin' as const, [[held('10:00', '10:30')]]]]);
    expect(times(steps, basin)).toEqual(ALL.filter((time) => time !== '09:30' && time !== '09:45'));
    // The stylist may be held while it processes, from 15 to 30 minutes after the start, and at no other time.
    const busy = times(steps, new Map([['wash-basin', [[]]]]), [held('10:00', '10:15')]);
    expect(busy).toEqual(ALL.filter((time) => time !== '09:30' && time !== '10:00'));
  });
});
