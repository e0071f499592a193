import { describe, expect, it } from '@jest/globals';
import { combinedService, joinedNames, type Offered } from './combined-service.js';
import { layOut } from './layout.js';

const MINUTE_MS = 60_000;
const tidy: Offered = {
  id: 'tidy',
  name: 'Neckline tidy',
  kind: 'tidy',
  zones: ['nape'],
  minutes: 20,
  priceMinor: 1500,
  resources: ['chair'],
};
const fringe: Offered = {
  ...tidy,
  id: 'fringe',
  name: 'Fringe tidy',
  zones: ['fringe'],
  minutes: 10,
  priceMinor: 800,
};
const colour: Offered = {
  id: 'colour',
  name: 'Root colour',
  kind: 'colour',
  zones: [],
  minutes: 90,
  priceMinor: 6000,
  steps: [
    { activity: 'active', minutes: 30 },
    { activity: 'processing', minutes: 40 },
    { activity: 'active', minutes: 20, resources: ['wash-basin'] },
  ],
  skills: ['colour'],
};

describe('services of one sitting', () => {
  it('are the one service when there is one', () => {
    expect(combinedService([colour])).toBe(colour);
    expect(() => combinedService([])).toThrow(RangeError);
  });

  it('add up, and need no steps when the stylist is at work all through in one chair', () => {
    expect(combinedService([tidy, fringe])).toMatchObject({
      id: 'tidy',
      name: 'Neckline tidy and Fringe tidy',
      kind: 'tidy',
      zones: ['nape', 'fringe'],
      minutes: 30,
      priceMinor: 2300,
      steps: null,
      resources: ['chair'],
    });
  });

  it('are colour when any of them is, whichever comes first, so that the gate is asked', () => {
    expect(combinedService([tidy, colour]).kind).toBe('colour');
    expect(combinedService([colour, tidy]).kind).toBe('colour');
    expect(combinedService([tidy, fringe]).kind).toBe('tidy');
  });

  it('hold throughout only what every one of them holds', () => {
    const bare: Offered = { ...fringe, resources: null };
    const room: Offered = { ...fringe, id: 'room', resources: ['chair', 'room'] };
    expect(combinedService([tidy, room])).toMatchObject({
      resources: ['chair'],
      steps: [
        { activity: 'active', minutes: 20, resources: [] },
        { activity: 'active', minutes: 10, resources: ['room'] },
      ],
    });
    expect(combinedService([tidy, room, bare]).resources).toBeNull();
    expect(combinedService([bare, tidy]).resources).toBeNull();
    expect(combinedService([bare, { ...bare, id: 'other', steps: [] }])).toMatchObject({
      steps: null,
      minutes: 20,
    });
  });

  it('keep a processing time that holds nothing', () => {
    const waits: Offered = {
      ...fringe,
      resources: null,
      steps: [
        { activity: 'active', minutes: 3 },
        { activity: 'processing', minutes: 4 },
        { activity: 'active', minutes: 3 },
      ],
    };
    expect(combinedService([waits, { ...waits, id: 'again' }]).steps).toHaveLength(6);
  });

  it('keep their own steps and what each holds, laid out one after the other', () => {
    const both = combinedService([colour, tidy]);
    expect(both).toMatchObject({ kind: 'colour', minutes: 110, resources: null, skills: ['colour'] });
    const { active, needs } = layOut({ startsAt: 0, endsAt: 110 * MINUTE_MS }, both);
    // By hand: at work 0–30 and 70–110, the basin 70–90, the chair for the tidy only, 90–110.
    const minutes = ({ startsAt, endsAt }: { startsAt: number; endsAt: number }) => [
      startsAt / MINUTE_MS,
      endsAt / MINUTE_MS,
    ];
    expect(active.map(minutes)).toEqual([
      [0, 30],
      [70, 110],
    ]);
    expect(needs.map((need) => [need.kind, ...minutes(need)])).toEqual([
      ['wash-basin', 70, 90],
      ['chair', 90, 110],
    ]);
  });

  it('are named as people name them', () => {
    expect(joinedNames([tidy])).toBe('Neckline tidy');
    expect(joinedNames([tidy, fringe, colour])).toBe('Neckline tidy, Fringe tidy and Root colour');
  });
});
