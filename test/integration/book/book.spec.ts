import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Appointment, Claim } from '../../../src/book/index.js';
import { type Actor, AuditEntry, SYSTEM } from '../../../src/identity/index.js';
import { openDesk, type TestDesk } from '../../factories/book.js';
import { makeClient } from '../../factories/clients.js';
import { makeSalon, type TestSalon, type TestStore } from '../../factories/salon.js';

const at = (text: string) => Date.parse(text);
/** A Tuesday; the clock stands at Monday 1 June 2026, 09:00 British summer time. */
const DATE = '2026-06-02';

let desk: TestDesk;
let store: TestStore;
let place: TestSalon;
beforeEach(async () => {
  desk = await openDesk();
  ({ store, place } = desk);
});
afterEach(() => store.close());

const wish = (changes: object = {}) => ({
  clientId: desk.clientId,
  staffId: place.mara.id,
  serviceId: place.fullCut.id,
  date: DATE,
  time: '10:00',
  ...changes,
});
const book = (changes: object = {}, actor: Actor = SYSTEM) => desk.book.book(wish(changes), actor);
const claims = () => store.reader.manager.find(Claim, { order: { startsAt: 'ASC' } });
const another = async () => (await makeClient(store, place.salon.id, { givenName: 'Bram' })).id;

describe('booking', () => {
  it('holds the stylist for the length of the service, in the local time of the salon', async () => {
    const answer = await book({ notes: '  Prefers quiet. ' });
    const { id } = answer;
    expect(answer).toEqual(await desk.book.get(id));
    expect(await desk.book.get(id)).toMatchObject({
      clientId: desk.clientId,
      state: 'booked',
      // 10:00 British summer time.
      startsAt: at('2026-06-02T09:00Z'),
      endsAt: at('2026-06-02T09:45Z'),
      bookedAt: store.clock.at,
      moves: 0,
      version: 1,
      notes: 'Prefers quiet.',
    });
    expect(await claims()).toEqual([
      expect.objectContaining({
        appointmentId: id,
        staffId: place.mara.id,
        startsAt: at('2026-06-02T09:00Z'),
        endsAt: at('2026-06-02T09:45Z'),
      }),
    ]);
    const trace = await store.reader.manager.findOneByOrFail(AuditEntry, { subjectId: id });
    expect(trace).toMatchObject({ action: 'appointment.book', subjectKind: 'appointment' });
  });

  it('takes an instant, and a length of its own by minutes or by end', async () => {
    const startsAt = at('2026-06-02T09:00Z');
    const when = { date: undefined, time: undefined, startsAt };
    expect((await book({ ...when, minutes: '60' })).endsAt).toBe(at('2026-06-02T10:00Z'));
    await expect(
      book({ ...when, clientId: await another(), endsAt: startsAt + 5 * 60_000 }),
    ).rejects.toMatchObject({
      code: 'BOOK.TAKEN',
    });
    const end = at('2026-06-02T10:20Z');
    expect((await book({ ...when, startsAt: at('2026-06-02T10:00Z'), endsAt: end })).endsAt).toBe(end);
  });

  it.each([
    ['BOOK.PAST', 'date', { date: '2026-06-01', time: '08:45' }],
    ['BOOK.PAST', 'startsAt', { date: '', time: '', startsAt: 0 }],
    ['BOOK.TOO_FAR', 'date', { date: '2028-06-03' }],
    ['BOOK.TIME_MISSING', 'time', { time: '' }],
    ['BOOK.TIME_MISSING', 'date', { date: null }],
    ['BOOK.TIME_MISSING', 'date', { date: undefined, time: undefined }],
    ['BOOK.TIME_TWICE', 'startsAt', { startsAt: Date.parse('2026-06-02T09:00Z') }],
    [
      'BOOK.NOT_ON_THE_MINUTE',
      'startsAt',
      { date: '', time: '', startsAt: Date.parse('2026-06-02T09:00:01Z') },
    ],
    ['BOOK.ENDS_BEFORE_START', 'endsAt', { endsAt: Date.parse('2026-06-02T09:00Z') }],
    ['BOOK.LENGTH_INVALID', 'endsAt', { endsAt: Date.parse('2026-06-02T09:04Z') }],
    ['BOOK.LENGTH_INVALID', 'endsAt', { endsAt: Date.parse('2026-06-02T21:01Z') }],
    ['BOOK.LENGTH_TWICE', 'endsAt', { endsAt: Date.parse('2026-06-02T10:00Z'), minutes: 60 }],
    ['BOOK.NO_SUCH_CLIENT', 'clientId', { clientId: 'nobody' }],
    ['BOOK.NO_SUCH_STYLIST', 'staffId', { staffId: 'nobody' }],
    ['BOOK.NO_SUCH_SERVICE', 'serviceId', { serviceId: 'nothing' }],
    ['INPUT.INVALID', 'date', { date: '2026-06-31' }],
    ['INPUT.INVALID', 'time', { time: '25:00' }],
    ['INPUT.INVALID', 'minutes', { minutes: -5 }],
    ['INPUT.INVALID', 'minutes', { minutes: Number.NaN }],
    ['INPUT.INVALID', 'startsAt', { startsAt: 1e300 }],
    ['INPUT.INVALID', 'clientId', { clientId: undefined }],
    ['INPUT.INVALID', 'clientId', { clientId: { not: 'text' } }],
    ['INPUT.INVALID', 'notes', { notes: 'x'.repeat(2001) }],
    ['INPUT.INVALID', 'price', { price: 1 }],
  ])('is refused with %s naming %s, and nothing is stored', async (code, field, changes) => {
    await expect(book(changes)).rejects.toMatchObject({
      kind: 'invalid',
      code,
      fields: [expect.objectContaining({ field })],
    });
    expect(await store.reader.manager.count(Appointment)).toBe(0);
    expect(await claims()).toEqual([]);
  });

  it('lets a walk-in start in the quarter-hour that runs', async () => {
    store.clock.at = at('2026-06-02T09:14:59Z');
    const { startsAt } = await book({ time: '10:00' });
    expect(startsAt).toBe(at('2026-06-02T09:00Z'));
    store.clock.at = at('2026-06-02T11:15:00Z');
    await expect(book({ time: '12:14' })).rejects.toMatchObject({ code: 'BOOK.PAST' });
  });

  it('refuses who does not cut hair, who left, and what is no longer offered', async () => {
    await expect(book({ staffId: place.frontDesk.id })).rejects.toMatchObject({
      code: 'BOOK.NO_SUCH_STYLIST',
    });
    await store.salons.changeStaff(place.ilan.id, { active: false }, SYSTEM);
    await expect(book({ staffId: place.ilan.id })).rejects.toMatchObject({ code: 'BOOK.STYLIST_LEFT' });
    await store.salons.changeService(place.tidy.id, { active: false }, SYSTEM);
    await expect(book({ serviceId: place.tidy.id })).rejects.toMatchObject({
      code: 'BOOK.SERVICE_NOT_OFFERED',
    });
  });

  it('refuses the staff and services of another salon', async () => {
    const other = await makeSalon(store, { name: 'Fennel Yard' });
    await expect(book({ staffId: other.mara.id })).rejects.toMatchObject({ code: 'BOOK.NO_SUCH_STYLIST' });
    await expect(book({ serviceId: other.tidy.id })).rejects.toMatchObject({ code: 'BOOK.NO_SUCH_SERVICE' });
  });
});

describe('the rota', () => {
  it.each([
    ['before work', '08:45'],
    ['into the break', '12:30'],
    ['in the break', '13:00'],
    ['past the end', '17:30'],
    ['after work', '18:00'],
  ])('bars a start %s (%s) unless the desk means it', async (_, time) => {
    await expect(book({ time })).rejects.toMatchObject({
      kind: 'refused',
      code: 'BOOK.OUTSIDE_ROTA',
      details: { hours: ['09:00–13:00', '13:30–18:00'] },
    });
    expect(await store.reader.manager.count(Appointment)).toBe(0);
    const { id } = await book({ time, outsideRota: 'true' });
    const trace = await store.reader.manager.findOneByOrFail(AuditEntry, { subjectId: id });
    expect(trace.details).toMatchObject({ outsideRota: true });
  });

  it('is ended by closures, which the refusal names', async () => {
    const closure = { startsOn: DATE, endsOn: DATE, reason: 'Stock-taking' };
    await store.salons.addClosure(place.salon.id, closure, SYSTEM);
    await expect(book()).rejects.toThrow('The salon is closed on Tue, 2 June 2026 (Stock-taking).');
    await store.salons.addClosure(
      place.salon.id,
      { ...closure, staffId: place.mara.id, startsOn: '2026-06-03', endsOn: '2026-06-04', reason: 'Course' },
      SYSTEM,
    );
    await expect(book({ date: '2026-06-04' })).rejects.toThrow(
      'Mara Quillfeather is away on Thu, 4 June 2026',
    );
    await book({ date: '2026-06-04', staffId: place.ilan.id });
  });

  it('is not for a client to overrule', async () => {
    const client: Actor = { accountId: null, role: 'client' };
    await expect(book({ outsideRota: true }, client)).rejects.toMatchObject({ kind: 'forbidden' });
  });
});

describe('a chair that is taken', () => {
  it('is refused with the next free slots of that stylist', async () => {
    await book();
    await expect(book({ clientId: await another(), time: '10:15' })).rejects.toMatchObject({
      kind: 'conflict',
      code: 'BOOK.TAKEN',
      details: {
        nextFree: ['10:45', '11:00', '11:15'].map((time) =>
          expect.objectContaining({ date: DATE, time, staffId: place.mara.id }),
        ),
      },
    });
    expect(await store.reader.manager.count(Appointment)).toBe(1);
  });

  it('is offered with somebody else when that stylist has nothing for a fortnight', async () => {
    await book({ outsideRota: true });
    await store.salons.setRota(place.mara.id, { entries: [] }, SYSTEM);
    const rival = book({ clientId: await another(), outsideRota: true });
    await expect(rival).rejects.toMatchObject({
      code: 'BOOK.TAKEN',
      details: {
        nextFree: ['10:00', '10:15', '10:30'].map((time) =>
          expect.objectContaining({ date: DATE, time, staffId: place.ilan.id }),
        ),
      },
    });
  });

  it('may be followed and preceded without a gap', async () => {
    await book();
    await book({ clientId: await another(), time: '09:15' });
    await book({ clientId: await another(), time: '10:45' });
    expect(await claims()).toHaveLength(3);
  });

  it('cannot be two chairs for one client', async () => {
    await book();
    const elsewhere = { staffId: place.ilan.id, time: '10:30' };
    await expect(book(elsewhere)).rejects.toMatchObject({ kind: 'conflict', code: 'BOOK.CLIENT_BUSY' });
    await book({ ...elsewhere, time: '10:45' });
    await book({ ...elsewhere, clientId: await another(), time: '10:00' });
  });
});

describe('moving', () => {
  it('keeps what it leaves out and counts itself', async () => {
    const { id, version } = await book({ minutes: 60 });
    const moved = await desk.book.move(id, { date: DATE, time: '14:00', expectedVersion: version }, SYSTEM);
    expect(moved).toMatchObject({
      startsAt: at('2026-06-02T13:00Z'),
      endsAt: at('2026-06-02T14:00Z'),
      moves: 1,
    });
    expect(moved).toEqual(await desk.book.get(id));
    await desk.book.move(id, { staffId: place.ilan.id, serviceId: place.tidy.id }, SYSTEM);
    expect(await claims()).toEqual([
      expect.objectContaining({
        staffId: place.ilan.id,
        startsAt: at('2026-06-02T13:00Z'),
        endsAt: at('2026-06-02T13:20Z'),
      }),
    ]);
    expect(await desk.book.get(id)).toMatchObject({ moves: 2, version: 3, clientId: desk.clientId });
  });

  it('may overlap where it was, and to the same place is no move', async () => {
    const { id } = await book();
    await desk.book.move(id, { date: DATE, time: '10:15' }, SYSTEM);
    expect(await desk.book.move(id, { date: DATE, time: '10:15' }, SYSTEM)).toMatchObject({
      moves: 1,
      version: 2,
    });
  });

  it('is refused over a newer version, into a taken chair, outside the rota and into the past, changing nothing', async () => {
    const { id, version } = await book();
    await book({ clientId: await another(), time: '11:00' });
    const before = [await desk.book.get(id), await claims()];
    const move = (changes: object) => desk.book.move(id, { date: DATE, time: '15:00', ...changes }, SYSTEM);
    await expect(move({ expectedVersion: version + 1 })).rejects.toMatchObject({
      kind: 'conflict',
      code: 'BOOK.STALE',
    });
    await expect(move({ time: '10:30' })).rejects.toMatchObject({
      code: 'BOOK.TAKEN',
      details: { nextFree: expect.arrayContaining([expect.objectContaining({ time: '11:45' })]) },
    });
    await expect(move({ time: '13:00' })).rejects.toMatchObject({ code: 'BOOK.OUTSIDE_ROTA' });
    await expect(move({ date: '2026-05-29' })).rejects.toMatchObject({ code: 'BOOK.PAST' });
    await expect(desk.book.move('nothing', {}, SYSTEM)).rejects.toMatchObject({ code: 'BOOK.NOT_FOUND' });
    expect([await desk.book.get(id), await claims()]).toEqual(before);
  });

  it('can stretch one that has begun and whose service went off the list', async () => {
    const { id } = await book();
    await store.salons.changeService(place.fullCut.id, { active: false }, SYSTEM);
    store.clock.at = at('2026-06-02T09:30Z');
    const stretched = await desk.book.move(id, { minutes: 75 }, SYSTEM);
    expect(stretched.endsAt).toBe(at('2026-06-02T10:15Z'));
  });
});
