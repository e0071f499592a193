import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import type { DomainError } from '../../../src/base/index.js';
import { Appointment, BookingSeries } from '../../../src/book/index.js';
import { Clients } from '../../../src/clients/index.js';
import { SYSTEM } from '../../../src/identity/index.js';
import { Checkout, Series, SeriesProposals, type WholeSeries } from '../../../src/rebooking/index.js';
import { startTestApp, type TestApp } from '../../factories/app.js';
import { addGuests, bookFaults, openDesk, type TestDesk } from '../../factories/book.js';
import { CROP } from '../../factories/cuts.js';

const at = (text: string) => Date.parse(text);

let desk: TestDesk;
let series: Series;
beforeEach(async () => {
  desk = await openDesk('2026-06-01T08:00:00Z');
  const { reader, clock, audit } = desk.store;
  series = new Series(reader, clock, audit, desk.book);
});
afterEach(() => desk.store.close());

/** Weekly at ten for four weeks, over the end of British summer time: a tidy each, and after the last a full cut. */
const weekly = () => ({
  clientId: desk.clientId,
  name: 'Autumn',
  visits: ['2026-10-13T09:00Z', '2026-10-20T09:00Z', '2026-10-27T10:00Z', '2026-11-03T10:00Z'].map(
    (start, i) => ({
      staffId: desk.place.mara.id,
      serviceIds: i === 3 ? [desk.place.tidy.id, desk.place.fullCut.id] : [desk.place.tidy.id],
      startsAt: at(start),
    }),
  ),
});
const starts = ({ appointments }: WholeSeries) =>
  appointments
    .filter(({ state }) => state === 'booked')
    .map(({ startsAt }) => new Date(startsAt).toISOString().slice(0, 16));

describe('a series', () => {
  it('puts the services of one visit one after the other, in one sitting', async () => {
    const { appointments } = await series.add(weekly(), SYSTEM);
    expect(appointments).toHaveLength(4);
    const { tidy, fullCut } = desk.place;
    const [last] = appointments.slice(-1);
    expect(last).toMatchObject({ serviceId: tidy.id, alsoServiceIds: [fullCut.id] });
    expect(last!.endsAt - last!.startsAt).toBe((tidy.minutes + fullCut.minutes) * 60_000);
    expect(await bookFaults(desk.store)).toEqual([]);
    const { columns } = await desk.book.day(desk.place.salon.id, '2026-11-03');
    expect(columns.flatMap((column) => column.appointments).map(({ serviceName }) => serviceName)).toEqual([
      `${tidy.name} and ${fullCut.name}`,
    ]);
  });

  it('lets one visit and all after it move, the earlier ones stay', async () => {
    const { series: made, appointments } = await series.add(weekly(), SYSTEM);
    const changed = await series.change(made.id, { fromId: appointments[2]!.id, shiftDays: 1 }, SYSTEM);
    expect(starts(changed)).toEqual([
      '2026-10-13T09:00',
      '2026-10-20T09:00',
      '2026-10-28T10:00',
      '2026-11-04T10:00',
    ]);
    await expect(series.change(made.id, { fromId: 'none' }, SYSTEM)).rejects.toMatchObject({
      code: 'SERIES.NO_SUCH_VISIT',
      fields: [expect.objectContaining({ field: 'fromId' })],
    });
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('is booked whole or not at all; the refusal says which visit and what is free', async () => {
    const [guest] = await addGuests(desk.store, desk.place.salon.id, 1);
    const rival = { clientId: guest, staffId: desk.place.mara.id, serviceId: desk.place.fullCut.id };
    await desk.book.book({ ...rival, date: '2026-10-27', time: '09:45' }, SYSTEM);
    const refusal = await series.add(weekly(), SYSTEM).catch((error: unknown) => error);
    expect(refusal).toMatchObject({
      kind: 'conflict',
      code: 'BOOK.TAKEN',
      fields: [expect.objectContaining({ field: 'visits.2.time' })],
      details: { visit: 2 },
    });
    const { message, details } = refusal as DomainError;
    expect(message).toMatch(/^Visit 3: /);
    expect(details['nextFree']).toHaveLength(3);
    expect(details['nextFree']).toMatchObject([{ date: '2026-10-27', time: '10:30' }, {}, {}]);
    expect(await desk.store.reader.manager.count(Appointment)).toBe(1);
    expect(await desk.store.reader.manager.count(BookingSeries)).toBe(0);
  });

  it('moves as a whole, keeping the time on the wall over a change of the clock', async () => {
    const { series: made } = await series.add(weekly(), SYSTEM);
    // Clocks go back on 25 October 2026, 01:00 UTC (IANA tzdata 2025b): 11:30 is 10:30 UTC before, 11:30 UTC after.
    const changed = await series.change(made.id, { shiftDays: 7, time: '11:30' }, SYSTEM);
    expect(starts(changed)).toEqual([
      '2026-10-20T10:30',
      '2026-10-27T11:30',
      '2026-11-03T11:30',
      '2026-11-10T11:30',
    ]);
    const back = await series.change(made.id, { shiftDays: -7, staffId: desk.place.ilan.id }, SYSTEM);
    expect(starts(back)[0]).toBe('2026-10-13T10:30');
    expect(new Set(back.appointments.map(({ staffId }) => staffId))).toEqual(new Set([desk.place.ilan.id]));
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('that cannot move as a whole stays where it is', async () => {
    const { series: made } = await series.add(weekly(), SYSTEM);
    const before = starts(await series.get(made.id));
    await expect(series.change(made.id, { time: '12:45' }, SYSTEM)).rejects.toMatchObject({
      code: 'BOOK.OUTSIDE_ROTA',
      message: expect.stringMatching(/^Visit \d: /),
    });
    expect(starts(await series.get(made.id))).toEqual(before);
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('is dropped as a whole, but for what has been', async () => {
    const { series: made } = await series.add(weekly(), SYSTEM);
    desk.store.clock.at = at('2026-10-21T08:00Z');
    const { appointments } = await series.drop(made.id, SYSTEM);
    expect(appointments.map(({ state }) => state)).toEqual(['booked', 'booked', 'cancelled', 'cancelled']);
    await expect(series.drop(made.id, SYSTEM)).rejects.toMatchObject({ code: 'SERIES.OVER' });
    await expect(series.drop('nothing', SYSTEM)).rejects.toMatchObject({ code: 'SERIES.NOT_FOUND' });
    expect((await series.of(desk.clientId)).map(({ id }) => id)).toEqual([made.id]);
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it.each([
    ['clientId', { clientId: '' }],
    ['name', { name: '' }],
    ['visits', { visits: [] }],
    ['visits.0.serviceIds', { visits: [{ staffId: 'a', serviceIds: [], startsAt: 0 }] }],
    ['visits.0.startsAt', { visits: [{ staffId: 'a', serviceIds: ['b'], startsAt: 'soon' }] }],
    ['visits.0.staffId', { visits: [{ staffId: 'a', serviceIds: ['b'], startsAt: 0 }] }],
  ])('is refused with a bad %s', async (field, changes) => {
    await expect(series.add({ ...weekly(), ...changes }, SYSTEM)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
    expect(await desk.store.reader.manager.count(BookingSeries)).toBe(0);
  });
});

describe('a proposed series', () => {
  let test: TestApp;
  let clientId: string;
  beforeEach(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    const clients = test.app.get(Clients, { strict: false });
    clientId = (await clients.add({ salonId: test.salon.id, givenName: 'Odile' }, SYSTEM)).client.id;
  });
  afterEach(() => test.close());

  it('comes from the plan, with a free time inside working hours for every visit, and is booked as it is', async () => {
    await test.app.get(Checkout, { strict: false }).walkIn(
      {
        clientId,
        staffId: test.mara.id,
        serviceId: test.fullCut.id,
        formula: { ...CROP, limits: [{ kind: 'grown-by', zone: 'nape', value: 12 }] },
      },
      SYSTEM,
    );
    const proposals = test.app.get(SeriesProposals, { strict: false });
    const proposal = await proposals.of(clientId, { time: '11:00' });
    if ('refused' in proposal) throw new Error(proposal.refused);
    expect(proposal.visits.map(({ on }) => on)).toEqual(proposal.plan.cuts.map(({ on }) => on));
    expect(proposal.visits.length).toBeGreaterThan(3);
    const visits = proposal.visits.map(({ serviceIds, slot }) => ({
      staffId: slot!.staffId,
      serviceIds,
      startsAt: slot!.startsAt,
    }));
    for (const { on, slot } of proposal.visits) {
      expect(slot).toMatchObject({ staffId: test.mara.id, time: '11:00', date: on });
    }
    const whole = await test.app
      .get(Series, { strict: false })
      .add({ clientId, name: 'Half a year', visits }, SYSTEM);
    expect(whole.appointments.every(({ seriesId }) => seriesId === whole.series.id)).toBe(true);
    expect(await bookFaults(test)).toEqual([]);
  });

  it('is refused in words while there is no cut to plan from', async () => {
    expect(await test.app.get(SeriesProposals, { strict: false }).of(clientId, {})).toEqual({
      refused: expect.stringContaining('no recorded cut'),
    });
  });
});
