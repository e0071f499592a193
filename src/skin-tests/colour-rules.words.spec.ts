import { describe, expect, it } from '@jest/globals';
import { BASE, JUNE_1, LINE, OTHER, read, test, utc } from '../../test/factories/colour-cases.js';
import { CAUTIONS } from './cautions.js';
import type { ColourQuestion } from './colour-question.js';
import { colourGate } from './colour-rules.js';

/*
 * What the gate says besides yes and no: which lines, since when, from when on, and every caution. All dates and times
 * below are worked out by hand from the rules named in colour-rules.spec.ts; London is an hour ahead of UTC in June.
 */

const words = (asked: Partial<ColourQuestion>) => {
  const verdict = colourGate({ ...BASE, ...asked });
  return verdict.allowed ? 'allowed' : verdict.words;
};
const allowed = (asked: Partial<ColourQuestion>) => {
  const verdict = colourGate({ ...BASE, ...asked });
  return verdict.allowed ? verdict : undefined;
};
const clear = (appliedAt: string, readAt: string, productLine = LINE) =>
  test(appliedAt, { ...read('clear', readAt), productLine });

const CLEARED = { medicalClearances: [{ documentedOn: '2026-05-15', recordedAt: utc('2026-05-16T09:00') }] };
const TOLD = { colourReaction: { notedAt: utc('2026-05-10T09:00') } };
const NEW_TEST =
  "Apply one by the maker's instructions: applied now and read clear, it would do from Wed, 10 June 2026, 09:00.";

describe('what the colour gate says where it allows', () => {
  it('names the line that was tested, then every caution', () => {
    expect(allowed({ tests: [JUNE_1] })).toEqual({
      allowed: true,
      productLines: [LINE],
      cautions: [`The skin test covers ${LINE} and nothing else.`, ...CAUTIONS],
    });
  });

  it('names every line once, however it was written, where the line is left open', () => {
    const tests = [
      JUNE_1,
      { ...JUNE_1, productLine: ' fernlight CREAM 6' },
      { ...JUNE_1, productLine: OTHER },
    ];
    const verdict = allowed({ tests, productLine: undefined });
    expect(verdict?.productLines).toEqual([LINE, OTHER]);
    expect(verdict?.cautions[0]).toBe(`The skin test covers ${LINE}, ${OTHER} and nothing else.`);
  });

  it('warns of tests that were taken over, unless one was made here', () => {
    const outside = { ...JUNE_1, takenOverAt: utc('2026-06-05T09:00') };
    const takenOver =
      'That skin test was taken over from other records: nobody here applied or read it. If in doubt, apply a new one.';
    expect(allowed({ tests: [outside] })?.cautions).toContain(takenOver);
    expect(allowed({ tests: [outside, JUNE_1] })?.cautions).not.toContain(takenOver);
  });

  it('tells of a reaction that was cleared, and of nothing where there was none', () => {
    const cautions = allowed({ tests: [JUNE_1], ...TOLD, ...CLEARED })?.cautions;
    expect(cautions?.[1]).toBe(
      'There was a reaction. Medical clearance is on record (Fri, 15 May 2026): keep within what it says.',
    );
    const two = {
      medicalClearances: [
        ...CLEARED.medicalClearances,
        { documentedOn: '2026-05-20', recordedAt: utc('2026-05-21T09:00') },
      ],
    };
    expect(allowed({ tests: [JUNE_1], ...TOLD, ...two })?.cautions[1]).toContain(
      '(Fri, 15 May 2026; Wed, 20 May 2026)',
    );
    expect(allowed({ tests: [JUNE_1] })?.cautions.join()).not.toContain('reaction. Medical');
  });

  it('takes a test of this very minute, and none of the minute in which a reaction came on record', () => {
    expect(words({ tests: [test('2026-06-08T08:00')] })).toContain('has not had its 48 hours yet');
    const sameMinute = {
      colourReaction: { notedAt: JUNE_1.appliedAt },
      medicalClearances: [{ documentedOn: '2026-06-02', recordedAt: utc('2026-06-02T09:00') }],
    };
    expect(words({ tests: [JUNE_1], ...sameMinute })).toContain('There is no skin test');
  });
});

describe('what the colour gate says where it bars', () => {
  it.each<[string, Partial<ColourQuestion>, string]>([
    ['no test of a named line', {}, `There is no skin test of ${LINE} on record. ${NEW_TEST}`],
    [
      'no test, the line left open',
      { productLine: undefined },
      `There is no skin test on record. ${NEW_TEST}`,
    ],
    [
      'no test since the reaction',
      { ...TOLD, ...CLEARED },
      `There is no skin test of ${LINE} on record since the reaction. ${NEW_TEST}`,
    ],
    [
      'tests of other lines',
      {
        tests: [
          clear('2026-06-01T09:00', '2026-06-03T09:00', OTHER),
          clear('2026-06-01T09:00', '2026-06-03T09:00', 'Ferncote'),
        ],
      },
      `The skin tests on record are of ${OTHER}, Ferncote, not of ${LINE}: a test of one line says nothing about another. ${NEW_TEST}`,
    ],
    [
      'a test that waits',
      { tests: [test('2026-06-08T07:00')] },
      `The skin test of ${LINE}, applied Mon, 8 June 2026, 08:00, has not had its 48 hours yet. Read clear, it would do from Wed, 10 June 2026, 08:00 through Sat, 5 December 2026.`,
    ],
    [
      'a test that was not read',
      { tests: [test('2026-06-05T09:00')] },
      `The skin test of ${LINE}, applied Fri, 5 June 2026, 10:00, has not been read: read it first. Read clear, it would do from Mon, 8 June 2026, 09:00 through Wed, 2 December 2026.`,
    ],
    [
      'a test that had not had its time',
      {
        tests: [clear('2026-06-08T09:00', '2026-06-10T09:00')],
        at: utc('2026-06-10T08:59'),
        now: utc('2026-06-10T09:00'),
      },
      `The skin test of ${LINE}, applied Mon, 8 June 2026, 10:00, had not had its 48 hours when this colour begins. It would do from Wed, 10 June 2026, 10:00 through Sat, 5 December 2026.`,
    ],
    [
      'a test that lapses before the colour',
      { tests: [JUNE_1], at: utc('2026-11-29T09:00') },
      `The skin test of ${LINE}, applied Mon, 1 June 2026, 10:00, no longer counts on the day of this colour. It would do from Mon, 8 June 2026, 09:00 through Sat, 28 November 2026.`,
    ],
    [
      'a test that has lapsed',
      { tests: [clear('2025-11-01T09:00', '2025-11-03T09:00')] },
      `The skin test of ${LINE}, applied Sat, 1 November 2025, 09:00, counted through Thu, 30 April 2026: it has lapsed. ${NEW_TEST}`,
    ],
    [
      'a test that would lapse before it could be read',
      { rules: { validDays: 1, zone: 'Europe/London' } },
      `There is no skin test of ${LINE} on record. Apply one by the maker's instructions.`,
    ],
    [
      'somebody who turns 16 on the day after the question',
      { birthday: '2010-06-09', at: utc('2026-06-12T09:00') },
      `There is no skin test of ${LINE} on record. Apply one by the maker's instructions: applied on the 16th birthday and read clear, it would do from Thu, 11 June 2026, 00:00.`,
    ],
    [
      'somebody under 16',
      { birthday: '2010-06-12' },
      'There is no colour and no skin test for anybody under 16. This client is 16 on Fri, 12 June 2026; with a skin test after that, the first time that would do is Sun, 14 June 2026, 00:00.',
    ],
    [
      'somebody under 16 where no test lasts',
      { birthday: '2010-06-12', rules: { validDays: 1, zone: 'Europe/London' } },
      'There is no colour and no skin test for anybody under 16. This client is 16 on Fri, 12 June 2026; with a skin test after that.',
    ],
    [
      'a birthday that is not on record',
      { birthday: null },
      "There is no colour for anybody under 16, and this client's birthday is not on record. Ask for it and record it first.",
    ],
    [
      'a reaction that was told',
      TOLD,
      'A reaction is on record. No colour and no further skin test until the owner has recorded a documented medical clearance.',
    ],
    [
      'a reaction to black henna',
      { blackHennaReaction: TOLD.colourReaction },
      'A reaction to black henna is on record. No colour and no skin test until the client has had medical advice and the owner has recorded the documented clearance.',
    ],
    [
      'an irritated scalp',
      { tests: [JUNE_1], irritatedScalp: true },
      'An irritated scalp is on record. No colour until it has settled and that has been recorded.',
    ],
    [
      'a visit whose line was not named',
      { tests: [JUNE_1], productLine: undefined, now: BASE.at },
      'Name the product line that is used: a skin test of one line says nothing about another.',
    ],
  ])('%s', (_name, asked, said) => {
    expect(words(asked)).toBe(said);
  });

  it('speaks of the newest test, whatever their order', () => {
    const older = clear('2025-11-01T09:00', '2025-11-03T09:00');
    const newer = test('2026-06-08T07:00');
    for (const tests of [
      [older, newer],
      [newer, older],
    ]) {
      expect(words({ tests })).toContain('applied Mon, 8 June 2026');
    }
  });

  it('lets a test of two days do for the day on which its 48 hours end, and for no day after', () => {
    const rules = { validDays: 2, zone: 'Europe/London' };
    expect(words({ rules })).toBe(`There is no skin test of ${LINE} on record. ${NEW_TEST}`);
  });
});
