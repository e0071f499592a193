import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Claim, Strays } from '../../../src/book/index.js';
import { SYSTEM } from '../../../src/identity/index.js';
import { Resources, RotaChanges, type Service } from '../../../src/salon/index.js';
import { addGuests, bookFaults, openDesk, type TestDesk } from '../../factories/book.js';

const DAY = '2026-06-02';

let desk: TestDesk;
let resources: Resources;
let guests: string[];
/** 30 at work, 40 while it takes, 20 at work; a chair all through and a basin for the last step. */
let perm: Service;
beforeEach(async () => {
  desk = await openDesk('2026-06-01T08:00:00Z');
  const { units, reader, audit, salons } = desk.store;
  resources = new Resources(units, reader, audit);
  perm = await salons.addService(
    desk.place.salon.id,
    {
      name: 'Soft wave',
      kind: 'other',
      minutes: 90,
      priceMinor: 7000,
      resources: ['chair'],
      steps: [
        { activity: 'active', minutes: 30 },
        { activity: 'processing', minutes: 40 },
        { activity: 'active', minutes: 20, resources: ['wash-basin'] },
      ],
    },
    SYSTEM,
  );
  guests = await addGuests(desk.store, desk.place.salon.id, 6);
});
afterEach(() => desk.store.close());

const equip = async (chairs: number, basins: number) => {
  const { id } = desk.place.salon;
  for (let i = 1; i <= chairs; i++) await resources.add(id, { kind: 'chair', name: `Chair ${i}` }, SYSTEM);
  for (let i = 1; i <= basins; i++) {
    await resources.add(id, { kind: 'wash-basin', name: `Basin ${i}` }, SYSTEM);
  }
};
const book = (guest: number, service: Service, time: string, changes: object = {}) =>
  desk.book.book(
    {
      clientId: guests[guest],
      staffId: desk.place.mara.id,
      serviceId: service.id,
      date: DAY,
      time,
      ...changes,
    },
    SYSTEM,
  );

describe('several services in one sitting', () => {
  it('are found, booked, moved and taken as one, each by its own steps', async () => {
    await equip(1, 1);
    const { tidy, mara, ilan, salon } = desk.place;
    // A rival at work from 10:10 to 10:40 leaves room for nothing but what is laid out around it.
    await book(1, tidy, '10:10', { minutes: 30 });
    const slots = await desk.slots.find({
      salonId: salon.id,
      serviceId: perm.id,
      alsoServiceIds: [tidy.id],
      staffId: mara.id,
      fromDate: DAY,
      toDate: DAY,
      limit: 1000,
    });
    const times = slots.map(({ time }) => time);
    // At work 09:30–10:00, then 10:40–11:20: the rival fits into the time that passes by itself.
    expect(times).toContain('09:30');
    expect(times).not.toContain('09:15');
    expect(times).not.toContain('09:45');
    const [slot] = slots.filter(({ time }) => time === '09:30');
    expect(slot!.endsAt - slot!.startsAt).toBe(110 * 60_000);
    const booked = await book(0, perm, '09:30', { alsoServiceIds: [tidy.id] });
    expect(booked).toMatchObject({ endsAt: slot!.endsAt, alsoServiceIds: [tidy.id] });
    expect(await bookFaults(desk.store)).toEqual([]);

    const moved = await desk.book.move(booked.id, { staffId: ilan.id, date: DAY, time: '14:00' }, SYSTEM);
    expect(moved).toMatchObject({ serviceId: perm.id, alsoServiceIds: [tidy.id] });
    expect(moved.steps?.map(({ minutes }) => minutes)).toEqual([30, 40, 20, 20]);
    const single = await desk.book.move(booked.id, { serviceId: tidy.id }, SYSTEM);
    expect(single).toMatchObject({ serviceId: tidy.id, alsoServiceIds: null });
    expect(single.endsAt - single.startsAt).toBe(tidy.minutes * 60_000);
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it.each([
    ['unknown', 'BOOK.NO_SUCH_SERVICE', () => 'nothing'],
    ['colour, which must come first', 'BOOK.COLOUR_FIRST', () => desk.place.colour.id],
  ])('are refused when one is %s', async (_, code, also) => {
    const input = { alsoServiceIds: [also()] };
    await expect(book(0, desk.place.tidy, '11:00', input)).rejects.toMatchObject({
      code,
      fields: [expect.objectContaining({ field: 'alsoServiceIds' })],
    });
  });
});

describe('what a changed rota leaves outside working hours', () => {
  it('is named, by start, and only while it is ahead', async () => {
    const { tidy, mara, ilan, salon } = desk.place;
    const { reader, clock, salons, units, audit } = desk.store;
    const early = await book(0, tidy, '09:00');
    const late = await book(1, tidy, '17:00');
    const other = await book(2, tidy, '10:00', { staffId: ilan.id });
    const strays = new Strays(reader, clock, salons);
    const found = async (staffId?: string) => (await strays.ahead(salon.id, staffId)).map(({ id }) => id);
    expect(await found()).toEqual([]);
    const change = { onDate: DAY, entries: [{ startsAt: '10:00', endsAt: '16:00' }] };
    await new RotaChanges(units, reader, audit).set(mara.id, change, SYSTEM);
    expect(await found()).toEqual([early.id, late.id]);
    await salons.addClosure(salon.id, { startsOn: DAY, endsOn: DAY, reason: 'Flood' }, SYSTEM);
    expect(await found()).toEqual([early.id, other.id, late.id]);
    expect(await found(ilan.id)).toEqual([other.id]);
    await desk.book.cancel(other.id, {}, SYSTEM);
    clock.at = early.endsAt;
    expect(await found()).toEqual([late.id]);
  });
});

describe('a service of steps', () => {
  it('leaves its stylist free while it takes, for others who fit', async () => {
    await equip(2, 1);
    const { fullCut, tidy } = desk.place;
    await book(0, perm, '10:00');
    // Processing from 10:30 to 11:10.
    await expect(book(1, tidy, '10:20')).rejects.toMatchObject({ code: 'BOOK.TAKEN' });
    await expect(book(1, fullCut, '10:30')).rejects.toMatchObject({ code: 'BOOK.TAKEN' });
    await book(1, tidy, '10:30');
    await book(2, tidy, '10:50');
    await expect(book(3, tidy, '11:10')).rejects.toMatchObject({ code: 'BOOK.TAKEN' });
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('keeps the client in her chair meanwhile', async () => {
    await equip(2, 1);
    await book(0, perm, '10:00');
    await expect(book(0, desk.place.tidy, '10:30')).rejects.toMatchObject({ code: 'BOOK.CLIENT_BUSY' });
  });

  it('is offered and shown as it lies', async () => {
    await equip(1, 1);
    const { salon, mara, tidy } = desk.place;
    await book(0, perm, '10:00');
    const ask = { salonId: salon.id, staffId: mara.id, fromDate: DAY, toDate: DAY, limit: 100 };
    const tidies = await desk.slots.find({ ...ask, serviceId: tidy.id });
    expect(tidies.map(({ time }) => time)).toContain('10:30');
    expect(tidies.map(({ time }) => time)).not.toContain('11:00');
    // One chair: no second wave while the first sits in it, though the stylist has time.
    const waves = await desk.slots.find({ ...ask, serviceId: perm.id });
    expect(waves.filter(({ time }) => time > '08:30' && time < '11:30')).toEqual([]);
    expect(waves.map(({ time }) => time)).toContain('11:30');
    const day = await desk.book.day(salon.id, DAY);
    const [shown] = day.columns.find(({ staffId }) => staffId === mara.id)!.appointments;
    expect(shown).toMatchObject({
      startTime: '10:00',
      endTime: '11:30',
      active: [
        { startTime: '10:00', endTime: '10:30' },
        { startTime: '11:10', endTime: '11:30' },
      ],
      resources: ['Chair 1', 'Basin 1'],
      confirmed: false,
    });
  });

  it('may take its time over the stylist’s break, but not work in it', async () => {
    await equip(2, 1);
    // Break from 13:00 to 13:30: the colour takes from 12:50 to 13:30 and nobody stands by.
    await book(0, perm, '12:20');
    await expect(book(1, perm, '12:45', { staffId: desk.place.ilan.id })).rejects.toMatchObject({
      code: 'BOOK.OUTSIDE_ROTA',
    });
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('is stretched at its last step and keeps its own steps when the service changes', async () => {
    await equip(1, 1);
    const { id } = await book(0, perm, '10:00');
    const changed = [
      { activity: 'active', minutes: 15 },
      { activity: 'processing', minutes: 15 },
      { activity: 'active', minutes: 15 },
    ];
    await desk.store.salons.changeService(perm.id, { minutes: 45, steps: changed }, SYSTEM);
    const moved = await desk.book.move(id, { time: '11:00', date: DAY, minutes: 100 }, SYSTEM);
    expect(moved.steps?.map(({ minutes }) => minutes)).toEqual([30, 40, 30]);
    await expect(desk.book.move(id, { minutes: 70 }, SYSTEM)).rejects.toMatchObject({
      code: 'BOOK.STEPS_TOO_SHORT',
      fields: [expect.objectContaining({ field: 'minutes' })],
    });
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('gives everything back when it is cancelled', async () => {
    await equip(1, 1);
    const { id } = await book(0, perm, '10:00');
    await desk.book.cancel(id, {}, SYSTEM);
    expect(await desk.store.reader.manager.count(Claim)).toBe(0);
    await book(1, perm, '10:00');
  });
});

describe('resources', () => {
  it('are as many as there are, whoever the stylist is, and a refusal names what is free next', async () => {
    await equip(1, 2);
    await book(0, perm, '10:00');
    const other = { staffId: desk.place.ilan.id };
    await expect(book(1, perm, '11:15', other)).rejects.toMatchObject({
      kind: 'conflict',
      code: 'BOOK.RESOURCE_TAKEN',
      message: 'No chair is free at that time.',
      details: {
        nextFree: [
          expect.objectContaining({ staffName: 'Ilan Drosser', time: '11:30' }),
          // The last step of any start in between would lie in the break, or the first after it.
          expect.objectContaining({ time: '12:30' }),
          expect.objectContaining({ time: '13:30' }),
        ],
      },
    });
    await resources.add(desk.place.salon.id, { kind: 'chair', name: 'Chair 2' }, SYSTEM);
    await book(1, perm, '11:15', other);
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('out of use are not taken; without any the service cannot be booked', async () => {
    await equip(1, 0);
    await expect(book(0, perm, '10:00')).rejects.toMatchObject({
      kind: 'invalid',
      code: 'BOOK.RESOURCE_MISSING',
      message: expect.stringContaining('wash basin'),
    });
    const [chair] = await resources.of(desk.place.salon.id);
    await resources.change(chair!.id, { active: false }, SYSTEM);
    await expect(book(0, perm, '10:00')).rejects.toMatchObject({ code: 'BOOK.RESOURCE_MISSING' });
  });

  it('at once for one chair, two stylists: one is seated', async () => {
    await equip(1, 1);
    const rivals = guests.map((_, i) =>
      book(i, perm, i % 2 ? '10:00' : '10:15', {
        staffId: i % 3 ? desk.place.mara.id : desk.place.ilan.id,
      }),
    );
    const settled = await Promise.allSettled(rivals);
    expect(settled.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it.each([
    ['kind', { kind: 'throne', name: 'Throne' }],
    ['name', { kind: 'chair', name: ' ' }],
    ['colour', { kind: 'chair', name: 'Chair', colour: 'red' }],
  ])('are refused with a bad %s', async (field, input) => {
    await expect(resources.add(desk.place.salon.id, input, SYSTEM)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
  });
});

describe('skills', () => {
  it('decide who may be booked and who is offered', async () => {
    const { salon, mara, ilan } = desk.place;
    const { salons } = desk.store;
    await salons.changeStaff(ilan.id, { skills: ['razor'] }, SYSTEM);
    const razor = await salons.addService(
      salon.id,
      { name: 'Razor cut', kind: 'full-cut', minutes: 45, priceMinor: 6000, skills: ['razor'] },
      SYSTEM,
    );
    await expect(book(0, razor, '10:00', { staffId: mara.id })).rejects.toMatchObject({
      code: 'BOOK.SKILL_MISSING',
      fields: [expect.objectContaining({ field: 'staffId' })],
    });
    const found = await desk.slots.find({
      salonId: salon.id,
      serviceId: razor.id,
      fromDate: DAY,
      toDate: DAY,
    });
    expect(new Set(found.map(({ staffName }) => staffName))).toEqual(new Set(['Ilan Drosser']));
    const { id } = await book(0, razor, '10:00', { staffId: ilan.id });
    await expect(desk.book.move(id, { staffId: mara.id }, SYSTEM)).rejects.toMatchObject({
      code: 'BOOK.SKILL_MISSING',
    });
  });
});

describe('steps of a service', () => {
  it.each([
    ['add up to another length', [{ activity: 'active', minutes: 40 }]],
    [
      'begin with processing',
      [
        { activity: 'processing', minutes: 25 },
        { activity: 'active', minutes: 20 },
      ],
    ],
    [
      'end with processing',
      [
        { activity: 'active', minutes: 25 },
        { activity: 'processing', minutes: 20 },
      ],
    ],
    ['are none', []],
  ])('are refused when they %s', async (_, steps) => {
    const input = { name: 'Odd', kind: 'other', minutes: 45, priceMinor: 0, steps };
    await expect(desk.store.salons.addService(desk.place.salon.id, input, SYSTEM)).rejects.toMatchObject({
      code: 'SERVICE.STEPS_INVALID',
      fields: [expect.objectContaining({ field: 'steps' })],
    });
  });
});
