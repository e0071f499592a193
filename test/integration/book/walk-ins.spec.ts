import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Appointment, Obstacles, WalkIns } from '../../../src/book/index.js';
import { Client, Clients } from '../../../src/clients/index.js';
import { SYSTEM } from '../../../src/identity/index.js';
import { Salons } from '../../../src/salon/index.js';
import { bookFaults, openDesk, type TestDesk } from '../../factories/book.js';
import { makeClient } from '../../factories/clients.js';

const at = (text: string) => Date.parse(text);
/** Monday 1 June 2026, 10:20 British summer time: the quarter-hour from 10:15 runs. */
const NOW = '2026-06-01T09:20:00Z';
const TODAY = '2026-06-01';

let desk: TestDesk;
let walkIns: WalkIns;
let salons: Salons;
beforeEach(async () => {
  desk = await openDesk(NOW);
  const { units, reader, clock, audit } = desk.store;
  salons = new Salons(units, reader, audit);
  walkIns = new WalkIns(
    clock,
    salons,
    new Clients(units, reader, clock, audit),
    desk.slots,
    desk.book,
    reader,
  );
});
afterEach(() => desk.store.close());

const wish = (over: object = {}) => ({
  salonId: desk.place.salon.id,
  serviceId: desk.place.tidy.id,
  ...over,
});
const take = (over: object = {}) => walkIns.take(wish(over), SYSTEM);
const clients = () => desk.store.reader.manager.count(Client);
/** Holds a stylist from a wall-clock time of today on. */
const busy = async (staffId: string, time: string, minutes: number) =>
  await desk.book.book(
    {
      clientId: (await makeClient(desk.store, desk.place.salon.id, { givenName: 'Busy' })).id,
      staffId,
      serviceId: desk.place.fullCut.id,
      date: TODAY,
      time,
      minutes,
    },
    SYSTEM,
  );

describe('a walk-in', () => {
  it('begins at once with whoever is free, from the running five minutes on, and has arrived', async () => {
    await busy(desk.place.mara.id, '10:15', 60);
    const { appointment, client } = await take({ clientId: desk.clientId });
    expect(client.id).toBe(desk.clientId);
    expect(appointment).toMatchObject({
      staffId: desk.place.ilan.id,
      startsAt: at('2026-06-01T09:20:00Z'),
      state: 'arrived',
      arrivedAt: at(NOW),
    });
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('does not wait for the next quarter-hour while a chair stands free', async () => {
    desk.store.clock.at = at('2026-06-01T09:16:00Z');
    const { appointment } = await take({ clientId: desk.clientId, staffId: desk.place.mara.id });
    expect(appointment.startsAt).toBe(at('2026-06-01T09:15:00Z'));
  });

  it('waits up to ten minutes without being asked', async () => {
    await busy(desk.place.mara.id, '10:15', 15);
    const { appointment } = await take({ clientId: desk.clientId, staffId: desk.place.mara.id });
    expect(appointment.startsAt).toBe(at('2026-06-01T09:30:00Z'));
  });

  it('is put on record in passing when new, the number kept as E.164', async () => {
    const { client } = await take({ givenName: 'Thomasin', familyName: 'Wray', phone: '07700 900 733' });
    // ITU-T E.164: the country code and the national number without its leading zero.
    expect(client).toMatchObject({ givenName: 'Thomasin', familyName: 'Wray', phone: '+447700900733' });
  });

  it('is asked before waiting, told the next free starts, and leaves nothing behind meanwhile', async () => {
    await busy(desk.place.mara.id, '10:15', 45);
    await busy(desk.place.ilan.id, '10:15', 90);
    const before = await clients();
    const error = await take({ givenName: 'Thomasin' }).catch((thrown: unknown) => thrown);
    expect(error).toMatchObject({
      code: 'WALK_IN.NOBODY_FREE',
      details: {
        nextFree: [
          { staffId: desk.place.mara.id, time: '11:00' },
          { staffId: desk.place.ilan.id, time: '11:45' },
        ],
      },
    });
    expect(await clients()).toBe(before);
    const { appointment } = await take({
      givenName: 'Thomasin',
      staffId: desk.place.mara.id,
      startsAt: at('2026-06-01T10:00:00Z'),
    });
    expect(appointment).toMatchObject({ state: 'arrived', startsAt: at('2026-06-01T10:00:00Z') });
  });

  it('is not asked to wait for a time at which she has an appointment herself', async () => {
    await busy(desk.place.mara.id, '10:15', 45);
    await busy(desk.place.ilan.id, '10:15', 90);
    const { tidy, mara, ilan } = desk.place;
    const own = { clientId: desk.clientId, staffId: mara.id, serviceId: tidy.id, date: TODAY, time: '11:00' };
    const { endsAt } = await desk.book.book(own, SYSTEM);
    const refusal = await take({ clientId: desk.clientId }).catch((error: unknown) => error);
    expect(refusal).toMatchObject({ code: 'WALK_IN.NOBODY_FREE' });
    const { nextFree } = (refusal as { details: { nextFree: { startsAt: number; staffId: string }[] } })
      .details;
    expect(nextFree.map(({ staffId }) => staffId).sort()).toEqual([mara.id, ilan.id].sort());
    for (const { startsAt } of nextFree) expect(startsAt).toBeGreaterThanOrEqual(endsAt);
    // Somebody else may have it as soon as the chair is free.
    const other = await makeClient(desk.store, desk.place.salon.id, { givenName: 'Thomasin' });
    await expect(take({ clientId: other.id, staffId: ilan.id })).rejects.toMatchObject({
      details: { nextFree: [{ time: '11:45' }] },
    });
  });

  it('whose record is wrong is told of that first, and nothing is stored', async () => {
    const before = await clients();
    await expect(take({ givenName: 'Thomasin', phone: '07700 9' })).rejects.toMatchObject({
      fields: [{ field: 'phone' }],
    });
    await expect(take()).rejects.toMatchObject({ code: 'WALK_IN.NAME_MISSING' });
    await expect(take({ clientId: 'nobody' })).rejects.toMatchObject({ code: 'CLIENT.NOT_FOUND' });
    expect(await clients()).toBe(before);
    expect(await desk.store.reader.manager.count(Appointment)).toBe(0);
  });
});

describe('sitting down', () => {
  it('is noted once, after the arrival, and goes with it', async () => {
    const { id } = (await take({ clientId: desk.clientId })).appointment;
    desk.store.clock.at += 5 * 60_000;
    const seatedAt = (await desk.book.seat(id, SYSTEM)).seatedAt;
    expect(seatedAt).toBe(at(NOW) + 5 * 60_000);
    desk.store.clock.at += 60_000;
    expect((await desk.book.seat(id, SYSTEM)).seatedAt).toBe(seatedAt);
    expect(await desk.book.unArrive(id, SYSTEM)).toMatchObject({ arrivedAt: null, seatedAt: null });
    await expect(desk.book.seat(id, SYSTEM)).rejects.toMatchObject({ code: 'BOOK.WRONG_STATE' });
  });
});

describe('what is in the way', () => {
  const asked = (over: object = {}) => ({
    salonId: desk.place.salon.id,
    clientId: desk.clientId,
    staffId: desk.place.mara.id,
    serviceId: desk.place.fullCut.id,
    startsAt: at('2026-06-01T13:00:00Z'),
    endsAt: at('2026-06-01T13:45:00Z'),
    ...over,
  });

  it('is named, with what it holds: the stylist or the client', async () => {
    const obstacles = new Obstacles(desk.store.reader);
    expect(await obstacles.of(asked())).toEqual([]);
    const rival = await busy(desk.place.mara.id, '14:30', 30);
    const own = await desk.book.book(
      {
        serviceId: desk.place.tidy.id,
        clientId: desk.clientId,
        staffId: desk.place.ilan.id,
        date: TODAY,
        time: '14:15',
      },
      SYSTEM,
    );
    expect(await obstacles.of(asked())).toMatchObject([
      { id: own.id, holds: 'the client', staffName: desk.place.ilan.name, startTime: '14:15' },
      { id: rival.id, holds: 'the stylist', startTime: '14:30', endTime: '15:00' },
    ]);
    // An appointment is not in its own way.
    expect(await obstacles.of(asked({ appointmentId: own.id }))).toMatchObject([{ id: rival.id }]);
  });

  it('is nobody while the stylist is free within a colour’s processing', async () => {
    const steps = [
      { activity: 'active', minutes: 30 },
      { activity: 'processing', minutes: 60 },
      { activity: 'active', minutes: 30 },
    ];
    const service = await salons.addService(
      desk.place.salon.id,
      { name: 'Gloss', kind: 'other', minutes: 120, priceMinor: 9000, steps },
      SYSTEM,
    );
    const guest = await makeClient(desk.store, desk.place.salon.id, { givenName: 'Gloss' });
    await desk.book.book(
      { clientId: guest.id, staffId: desk.place.mara.id, serviceId: service.id, date: TODAY, time: '14:00' },
      SYSTEM,
    );
    const obstacles = new Obstacles(desk.store.reader);
    const within = { startsAt: at('2026-06-01T13:30:00Z'), endsAt: at('2026-06-01T14:15:00Z') };
    expect(await obstacles.of(asked(within))).toEqual([]);
    const over = { startsAt: at('2026-06-01T13:30:00Z'), endsAt: at('2026-06-01T14:35:00Z') };
    expect(await obstacles.of(asked(over))).toMatchObject([{ clientName: expect.stringContaining('Gloss') }]);
  });
});
