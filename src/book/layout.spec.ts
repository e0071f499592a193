import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { fittedSteps, layOut } from './layout.js';

const MINUTE = 60_000;
const active = (minutes: number) => ({ activity: 'active' as const, minutes });
const processing = (minutes: number) => ({ activity: 'processing' as const, minutes });
const inMinutes = <T extends { startsAt: number; endsAt: number }>(stretches: readonly T[]) =>
  stretches.map(({ startsAt, endsAt, ...rest }) => ({
    ...rest,
    from: startsAt / MINUTE,
    to: endsAt / MINUTE,
  }));

describe('layOut', () => {
  it('keeps the stylist all through without steps', () => {
    const { active: held, needs } = layOut({ startsAt: 0, endsAt: 45 * MINUTE }, {});
    expect(inMinutes(held)).toEqual([{ from: 0, to: 45 }]);
    expect(needs).toEqual([]);
  });

  it('frees her while colour takes, and joins what touches', () => {
    const steps = [active(20), active(10), processing(35), active(15), processing(10), active(30)];
    const { active: held } = layOut({ startsAt: 0, endsAt: 120 * MINUTE }, { steps });
    expect(inMinutes(held)).toEqual([
      { from: 0, to: 30 },
      { from: 65, to: 80 },
      { from: 90, to: 120 },
    ]);
  });

  it('takes one chair for the whole and a basin for the steps that need it', () => {
    const basin = ['wash-basin' as const];
    const steps = [
      active(30),
      { ...processing(30), resources: ['chair' as const] },
      { ...active(10), resources: basin },
      { ...active(5), resources: basin },
      active(15),
      { ...active(10), resources: basin },
    ];
    const { needs } = layOut({ startsAt: 0, endsAt: 100 * MINUTE }, { steps, resources: ['chair'] });
    expect(inMinutes(needs)).toEqual([
      { kind: 'chair', from: 0, to: 100 },
      { kind: 'wash-basin', from: 60, to: 75 },
      { kind: 'wash-basin', from: 90, to: 100 },
    ]);
  });
});

describe('fittedSteps', () => {
  it('gives the last active step what is more or less', () => {
    const steps = [active(20), processing(30), active(25)];
    expect(fittedSteps(steps, 90)?.map(({ minutes }) => minutes)).toEqual([20, 30, 40]);
    expect(fittedSteps(steps, 55)?.map(({ minutes }) => minutes)).toEqual([20, 30, 5]);
    expect(fittedSteps(null, 55)).toBeNull();
  });

  it('refuses to cut a step away and says how long it must be', () => {
    const steps = [active(20), processing(30), active(25)];
    expect(() => fittedSteps(steps, 54)).toThrow(
      expect.objectContaining({
        code: 'BOOK.STEPS_TOO_SHORT',
        fields: [{ field: 'minutes', message: 'Minutes: the steps of this service need at least 55.' }],
      }),
    );
  });

  it('always adds up, and what it lays out lies inside the whole', () => {
    const step = fc.record({
      activity: fc.constantFrom('active' as const, 'processing' as const),
      minutes: fc.integer({ min: 5, max: 60 }),
    });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 6 }), fc.integer({ min: 0, max: 90 }), (middle, more) => {
        const steps = [active(10), ...middle, active(10)];
        const length = steps.reduce((sum, { minutes }) => sum + minutes, 0) + more;
        const fitted = fittedSteps(steps, length);
        expect(fitted?.reduce((sum, { minutes }) => sum + minutes, 0)).toBe(length);
        const { active: held } = layOut({ startsAt: 0, endsAt: length * MINUTE }, { steps: fitted });
        expect(held[0]?.startsAt).toBe(0);
        expect(held.at(-1)?.endsAt).toBe(length * MINUTE);
        const worked = held.reduce((sum, { startsAt, endsAt }) => sum + endsAt - startsAt, 0) / MINUTE;
        const passive = middle.reduce((sum, s) => sum + (s.activity === 'processing' ? s.minutes : 0), 0);
        expect(worked).toBe(length - passive);
      }),
    );
  });
});
