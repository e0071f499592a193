import { describe, expect, it } from '@jest/globals';
import type { Salon } from '../salon/index.js';
import type { MedicalClearance, SafetyNote, SkinTest } from '../skin-tests/index.js';
import { type SafetyRecords, safetyView } from './safety-view.js';

const NOW = Date.parse('2026-05-14T09:00:00Z');
const HOUR_MS = 3_600_000;
const salon = { zone: 'Europe/London', locale: 'en-GB', skinTestValidDays: 180 } as Salon;
const spoken = { locale: 'en-GB', today: '2026-05-14' };

const test = (hoursAgo: number, over: Partial<SkinTest> = {}): SkinTest =>
  ({
    productLine: 'Verity',
    appliedAt: NOW - hoursAgo * HOUR_MS,
    readAt: null,
    readingRecordedAt: null,
    result: null,
    makerValidDays: null,
    ...over,
  }) as SkinTest;
const clear = (hoursAgo: number, over: Partial<SkinTest> = {}) =>
  test(hoursAgo, { result: 'clear', readAt: NOW - (hoursAgo - 48) * HOUR_MS, ...over });

const view = (records: Partial<SafetyRecords>) =>
  safetyView({ tests: [], notes: [], clearances: [], healthNotes: '', ...records }, salon, NOW, spoken);

describe('the safety line', () => {
  // 48 h between applying and reading: Cosmetics Europe 2023 (through CTPA), FDA advice.
  it.each([
    ['applied', test(47), 'applied', /not to be read before its 48 hours are over on Thu,? 14 May, 11:00/],
    ['not read', test(49), 'not-read', /read it before any colour/],
    ['clear', clear(72), 'clear', /for this product line only/],
    ['lapsed', clear(200 * 24), 'lapsed', /a new one is needed before colour/],
    [
      'reacted',
      test(72, { result: 'reacted', readAt: NOW }),
      'reacted',
      /no colour without documented medical clearance/,
    ],
  ] as const)('a test that is %s says so in words', (name, one, state, words) => {
    const [row] = view({ tests: [one] }).tests;
    expect(row).toMatchObject({ state, name });
    expect(row?.words).toMatch(words);
  });

  it('never calls anything safe', () => {
    const said = JSON.stringify(view({ tests: [clear(72)], healthNotes: 'Asthma.' }));
    expect(said).not.toMatch(/safe[^t]/i);
  });

  it('keeps a reaction in sight however many clear tests follow', () => {
    const shown = view({
      tests: [clear(60), test(9000, { result: 'reacted', readAt: NOW - 8900 * HOUR_MS })],
    });
    expect(shown.tests.map(({ state }) => state)).toEqual(['clear', 'reacted']);
    expect(shown.stop).toBe(true);
  });

  it('shows only the newest test of a line, and each line', () => {
    const shown = view({ tests: [clear(500), clear(72), clear(80, { productLine: 'Umbra' })] });
    expect(shown.tests.map(({ productLine }) => productLine)).toEqual(['Verity', 'Umbra']);
  });

  it('tells the desk that there is something, never what was told', () => {
    const notes = [{ kind: 'colour-reaction', told: 'Swollen eyelids in 2019.' }] as SafetyNote[];
    const shown = view({ notes, healthNotes: undefined });
    expect(shown.stop).toBe(true);
    expect(shown.notes[0]?.words).toContain('A reaction to colouring is on record');
    expect(JSON.stringify(shown)).not.toContain('eyelids');
    expect(view({ notes }).notes[0]?.told).toContain('eyelids');
  });

  it('shows a clearance with its limits', () => {
    const clearances = [{ documentedOn: '2026-02-03', issuedBy: 'Dr Halloran' }] as MedicalClearance[];
    expect(view({ clearances }).clearances[0]?.words).toMatch(
      /3 Feb by Dr Halloran: keep within what it says/,
    );
  });
});
